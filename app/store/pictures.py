"""What pictures are made of: failures by kind and cause, and what is due, was tested, invoiced and received, by day."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session

from app.rules.equipment import Kind
from app.rules.items import ItemState
from app.rules.payments import Direction
from app.store.credit_notes import CreditNoteRow
from app.store.evidence import count_as_failed, count_as_test
from app.store.invoices import InvoiceRow
from app.store.items import DefectRow, ItemRow
from app.store.payments import PaymentRow
from app.store.readings import ReadingRow, RoundRow, VisitItemRow
from app.store.visits import VisitRow

_FAILS = ("fail", "conditional-fail")


def list_failures_by_kind(
    session: Session, since: date, until: date, customer_id: int | None = None
) -> list[tuple[str, int, int]]:
    """Kind, failed items and items tested between two days. An item counts once, as failed where it failed at all."""
    failed_items = func.count(case((count_as_failed(), ItemRow.id)).distinct())
    query = (
        select(ItemRow.kind, failed_items, func.count(ItemRow.id.distinct()))
        .select_from(VisitItemRow)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .where(*_tested(since, until, customer_id))
        .group_by(ItemRow.kind)
    )
    return [(kind, failed, tested) for kind, failed, tested in session.execute(query)]


def count_failures(session: Session, since: date, until: date, customer_id: int | None = None) -> tuple[int, int]:
    """How many items failed, and how many were tested, between two days; each counts once."""
    failed_items = func.count(case((count_as_failed(), ItemRow.id)).distinct())
    query = (
        select(failed_items, func.count(ItemRow.id.distinct()))
        .select_from(VisitItemRow)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .where(*_tested(since, until, customer_id))
    )
    failed, tested = session.execute(query).one()
    return failed, tested


def list_causes(
    session: Session, since: date, until: date, customer_id: int | None = None
) -> list[tuple[str, str, int]]:
    """Check that failed, point that was looked at, and the item; readings after a repair are left out."""
    point = case((ReadingRow.check == "visual", ReadingRow.point), else_="")
    after_repair = case((ReadingRow.round_id.is_(None), VisitItemRow.after_repair), else_=RoundRow.after_repair)
    query = (
        select(ReadingRow.check, point, ItemRow.id)
        .select_from(ReadingRow)
        .join(VisitItemRow, ReadingRow.visit_item_id == VisitItemRow.id)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .outerjoin(RoundRow, ReadingRow.round_id == RoundRow.id)
        .where(*_tested(since, until, customer_id), count_as_failed())
        .where(ReadingRow.outcome.in_(_FAILS), after_repair.is_(False))
        .distinct()
    )
    return [(check, point, item_id) for check, point, item_id in session.execute(query)]


def count_due_by_day(session: Session, customer_id: int | None = None) -> dict[date, int]:
    """How many items in use fall due on each day."""
    query = select(ItemRow.next_due_on, func.count()).where(
        ItemRow.state == ItemState.IN_USE.value, ItemRow.next_due_on.is_not(None)
    )
    return _by_day(session, _of(query, ItemRow.customer_id, customer_id).group_by(ItemRow.next_due_on))


def list_due_work_by_day(session: Session) -> list[tuple[date, Kind, int]]:
    """How many items in use of each kind fall due on each day."""
    query = select(ItemRow.next_due_on, ItemRow.kind, func.count()).where(
        ItemRow.state == ItemState.IN_USE.value, ItemRow.next_due_on.is_not(None)
    )
    return _work(session, query.group_by(ItemRow.next_due_on, ItemRow.kind))


def list_tested_work_by_day(session: Session, since: date) -> list[tuple[date, Kind, int]]:
    """How many items of each kind were tested on each day; a second test of an item is work too."""
    query = select(VisitItemRow.tested_on, VisitItemRow.kind, func.count()).where(
        VisitItemRow.tested_on >= since, VisitItemRow.verdict.in_(("pass", "fail")), VisitItemRow.not_tested == ""
    )
    return _work(session, query.group_by(VisitItemRow.tested_on, VisitItemRow.kind))


def count_invoiced_by_day(session: Session, since: date) -> dict[date, int]:
    """Pence invoiced on each day with VAT, less credit notes."""
    invoices = (
        select(InvoiceRow.issued_on, func.sum(InvoiceRow.gross_pence))
        .where(InvoiceRow.state != "draft", InvoiceRow.issued_on >= since)
        .group_by(InvoiceRow.issued_on)
    )
    credited = (
        select(CreditNoteRow.issued_on, -func.sum(CreditNoteRow.gross_pence))
        .where(CreditNoteRow.issued_on >= since)
        .group_by(CreditNoteRow.issued_on)
    )
    found = _by_day(session, invoices)
    for day, pence in _by_day(session, credited).items():
        found[day] = found.get(day, 0) + pence
    return found


def count_received_by_day(session: Session, since: date) -> dict[date, int]:
    """Pence that came in on each day, less refunds; payments marked as removed are left out."""
    signed = case((PaymentRow.direction == Direction.RECEIVED.value, PaymentRow.pence), else_=-PaymentRow.pence)
    query = select(PaymentRow.paid_on, func.sum(signed)).where(
        PaymentRow.paid_on >= since, PaymentRow.removed_at.is_(None)
    )
    return _by_day(session, query.group_by(PaymentRow.paid_on))


def count_visits_between(session: Session, customer_id: int, since: date, until: date) -> int:
    """How many visits to a customer were finished between two days."""
    query = select(func.count()).select_from(VisitRow)
    return (
        session.scalar(query.where(VisitRow.customer_id == customer_id, VisitRow.finished_on.between(since, until)))
        or 0
    )


def list_defect_spans(session: Session, customer_id: int) -> list[tuple[date, date | None]]:
    """For each defect of a customer's items: the day on which it was found (UTC), and on which it was closed."""
    query = (
        select(DefectRow.found_at, DefectRow.closed_on)
        .join(ItemRow, DefectRow.item_id == ItemRow.id)
        .where(ItemRow.customer_id == customer_id)
        .order_by(DefectRow.found_at)
    )
    return [(found_at.date(), closed_on) for found_at, closed_on in session.execute(query)]


def _tested(since: date, until: date, customer_id: int | None) -> Iterable[ColumnElement[bool]]:
    found = [
        VisitItemRow.tested_on.between(since, until),
        VisitItemRow.verdict.in_(("pass", "fail")),
        VisitItemRow.not_tested == "",
        count_as_test(),
    ]
    return [*found, ItemRow.customer_id == customer_id] if customer_id is not None else found


def _of(query: Any, column: Any, wanted: int | None) -> Any:
    return query if wanted is None else query.where(column == wanted)


def _work(session: Session, query: Any) -> list[tuple[date, Kind, int]]:
    return [(day, Kind(kind), count) for day, kind, count in session.execute(query)]


def _by_day(session: Session, query: Any) -> dict[date, int]:
    return {day: int(number or 0) for day, number in session.execute(query)}
