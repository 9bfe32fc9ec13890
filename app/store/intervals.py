"""The decisions about intervals: who decided what for an item, when and why, on which answers and evidence."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, select, update
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column

from app.rules.items import ItemState
from app.store.certificates import CertificateRow
from app.store.database import Base
from app.store.items import ItemRow
from app.store.papers import PaperRow
from app.store.premises import PremisesRow
from app.store.readings import VisitItemRow


class IntervalDecisionRow(Base):
    """One decision for one item. months is None where the usual interval was to hold again; months_before is what held
    until then, together how many items it was decided for at once. It is never changed.
    """

    __tablename__ = "interval_decisions"

    id: Mapped[int] = mapped_column(primary_key=True)
    item_id: Mapped[int] = mapped_column(ForeignKey("items.id"), index=True)
    decided_on: Mapped[date]
    decided_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    person_name: Mapped[str]
    months: Mapped[int | None]
    months_before: Mapped[int | None]
    reason: Mapped[str]
    answers: Mapped[dict[str, Any] | None]
    evidence: Mapped[str]
    together: Mapped[int]


def add_interval_decision(session: Session, row: IntervalDecisionRow) -> None:
    session.add(row)


def list_interval_decisions(session: Session, item_id: int) -> list[IntervalDecisionRow]:
    """The decisions about an item, newest first."""
    return list(
        session.scalars(
            select(IntervalDecisionRow)
            .where(IntervalDecisionRow.item_id == item_id)
            .order_by(IntervalDecisionRow.id.desc())
        )
    )


def change_due_before_paper(session: Session, items: Iterable[ItemRow]) -> None:
    """Let the newest pass of items say when they are next due, as long as no certificate says it already, neither that
    of the visit nor one of the item alone.

    The sheets themselves stay as they were saved, so nobody who has one open is told of a change.
    """
    due = {item.id: item for item in items if item.last_tested_on is not None and item.last_verdict == "pass"}
    query = (
        select(VisitItemRow.id, VisitItemRow.item_id)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .outerjoin(CertificateRow, CertificateRow.visit_id == VisitItemRow.visit_id)
        .outerjoin(PaperRow, PaperRow.visit_item_id == VisitItemRow.id)
        .where(
            VisitItemRow.item_id.in_(due),
            VisitItemRow.tested_on == ItemRow.last_tested_on,
            VisitItemRow.verdict == "pass",
            CertificateRow.id.is_(None),
            PaperRow.id.is_(None),
        )
    )
    by_day: dict[date | None, list[int]] = {}
    for visit_item_id, item_id in session.execute(query):
        by_day.setdefault(due[item_id].next_due_on, []).append(visit_item_id)
    for day, ids in by_day.items():
        session.execute(update(VisitItemRow).where(VisitItemRow.id.in_(ids)).values(next_due_on=day))


def list_items_alike(
    session: Session, customer_id: int, equipment_type_id: int, environment: str, premises_id: int | None = None
) -> list[ItemRow]:
    """The items of one equipment type at a customer in places of one kind, in one question; none that is withdrawn."""
    query = (
        select(ItemRow)
        .join(PremisesRow, ItemRow.premises_id == PremisesRow.id)
        .where(
            ItemRow.customer_id == customer_id,
            ItemRow.equipment_type_id == equipment_type_id,
            PremisesRow.environment == environment,
            ItemRow.state != ItemState.WITHDRAWN.value,
        )
        .order_by(PremisesRow.name, ItemRow.number)
        .options(joinedload(ItemRow.premises), joinedload(ItemRow.location), joinedload(ItemRow.equipment_type))
    )
    if premises_id is not None:
        query = query.where(ItemRow.premises_id == premises_id)
    return list(session.scalars(query))


def list_environments_of_type(session: Session, equipment_type_id: int) -> list[str]:
    """The kinds of places in which an equipment type stands; items with an interval of their own do not count."""
    return list(
        session.scalars(
            select(PremisesRow.environment)
            .join(ItemRow, ItemRow.premises_id == PremisesRow.id)
            .where(
                ItemRow.equipment_type_id == equipment_type_id,
                ItemRow.interval_months.is_(None),
                ItemRow.state != ItemState.WITHDRAWN.value,
            )
            .distinct()
            .order_by(PremisesRow.environment)
        )
    )
