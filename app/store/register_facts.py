"""Facts for registers and lists of defects: what was in service at a customer or premises on a day, and what was open.

Names, places and numbers are those that the register holds now; tests, due days and defects are those known by the day.
"""

from collections.abc import Iterable
from datetime import date
from zoneinfo import ZoneInfo

from sqlalchemy import Select, func, or_, select
from sqlalchemy.orm import Session, joinedload

from app.rules.defect_waits import describe_duty
from app.rules.items import ItemState
from app.rules.papers import OpenDefect, RegisterItem
from app.rules.verdicts import Verdict
from app.rules.visits import VisitState
from app.store.customers import CustomerRow
from app.store.items import DefectRow, ItemRow
from app.store.premises import LocationRow, PremisesRow
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow

_LIVE = (VisitState.BOOKED.value, VisitState.UNDER_WAY.value)


def facts_for_register(
    session: Session, customer_id: int, premises_id: int | None, as_at: date, today: date
) -> tuple[RegisterItem, ...]:
    """Every item in service on a day, by premises, location and number. premises_id None: at all of them."""
    query = _there(customer_id, premises_id).where(ItemRow.added_on <= as_at)
    query = query.where(or_(ItemRow.state != ItemState.WITHDRAWN.value, ItemRow.withdrawn_on > as_at))
    rows = list(session.scalars(query))
    past = _tests_until(session, customer_id, as_at) if as_at < today else {}
    return tuple(facts_for_item(row) if as_at >= today else _item_then(row, past.get(row.id)) for row in rows)


def facts_for_defect_list(
    session: Session,
    customer: CustomerRow,
    premises_id: int | None,
    as_at: date,
    today: date,
    zone: ZoneInfo,
    firm: str,
) -> tuple[OpenDefect, ...]:
    """Every defect open on a day, by premises, location, number and day, each with who must act."""
    query = (
        _there(customer.id, premises_id)
        .join(DefectRow, DefectRow.item_id == ItemRow.id)
        .with_only_columns(ItemRow, DefectRow)
        .where(or_(DefectRow.closed_on.is_(None), DefectRow.closed_on > as_at))
        .where(or_(ItemRow.state != ItemState.WITHDRAWN.value, ItemRow.withdrawn_on > as_at))
        .order_by(DefectRow.found_at, DefectRow.id)
    )
    coming = _next_visits(session, customer.id) if as_at >= today else {}
    found = []
    for item, defect in session.execute(query):
        found_on = defect.found_at.astimezone(zone).date()
        if found_on > as_at:
            continue
        state = ItemState(item.state) if as_at >= today else ItemState.OUT_OF_USE
        found.append(
            OpenDefect(
                number=item.number,
                description=item.description,
                premises=item.premises.name,
                location=item.location.name,
                product=_product(item),
                state=state,
                found_on=found_on,
                found=defect.found,
                remedy=defect.remedy,
                duties=describe_duty(state, coming.get(item.premises_id), as_at, firm),
            )
        )
    return tuple(found)


def facts_for_item(row: ItemRow) -> RegisterItem:
    """One item as the register holds it now."""
    verdict = Verdict(row.last_verdict) if row.last_verdict else None
    return _named(row, ItemState(row.state), row.last_tested_on, verdict, row.next_due_on)


def _there(customer_id: int, premises_id: int | None) -> Select[ItemRow]:
    query = (
        select(ItemRow)
        .join(ItemRow.premises)
        .join(ItemRow.location)
        .where(ItemRow.customer_id == customer_id)
        .order_by(
            PremisesRow.name, PremisesRow.id, LocationRow.position, LocationRow.name, LocationRow.id,
            func.length(ItemRow.number), ItemRow.number,
        )
        .options(joinedload(ItemRow.premises), joinedload(ItemRow.location))
    )  # fmt: skip
    return query if premises_id is None else query.where(ItemRow.premises_id == premises_id)


def _tests_until(session: Session, customer_id: int, as_at: date) -> dict[int, VisitItemRow]:
    """The newest test of each item up to a day, by the item's id."""
    query = (
        select(VisitItemRow)
        .join(VisitItemRow.item)
        .where(ItemRow.customer_id == customer_id, VisitItemRow.tested_on <= as_at, VisitItemRow.verdict.is_not(None))
        .order_by(VisitItemRow.tested_on, VisitItemRow.id)
    )
    return {row.item_id: row for row in session.scalars(query)}  # the newest comes last and stays


def _next_visits(session: Session, customer_id: int) -> dict[int, date]:
    """The day of the next visit of each premises of a customer that has one."""
    query = (
        select(VisitRow.premises_id, func.min(VisitRow.booked_on))
        .where(VisitRow.customer_id == customer_id, VisitRow.state.in_(_LIVE))
        .group_by(VisitRow.premises_id)
    )
    return dict(session.execute(query).all())


def _item_then(row: ItemRow, test: VisitItemRow | None) -> RegisterItem:
    """The item on an earlier day: in use unless its newest test by then failed."""
    if test is None:
        return _named(row, ItemState.IN_USE, None, None, None)
    verdict = Verdict(test.verdict or "incomplete")
    state = ItemState.OUT_OF_USE if verdict == Verdict.FAIL else ItemState.IN_USE
    return _named(row, state, test.tested_on, verdict, test.next_due_on)


def _named(
    row: ItemRow, state: ItemState, tested_on: date | None, verdict: Verdict | None, due_on: date | None
) -> RegisterItem:
    return RegisterItem(
        number=row.number,
        description=row.description,
        premises=row.premises.name,
        location=row.location.name,
        make=row.make,
        model=row.model,
        serial=row.serial,
        build=_build(row),
        state=state,
        last_tested_on=tested_on,
        last_verdict=verdict,
        next_due_on=due_on,
    )


def _build(row: ItemRow) -> str:
    """What decides the limits, in short: class and rating."""
    facts = row.facts
    rating = f"{facts.rated_power_w.normalize():f} W" if facts.rated_power_w else ""
    return ", ".join(_given((facts.construction.word, rating)))


def _product(row: ItemRow) -> str:
    serial = f"serial {row.serial}" if row.serial else ""
    return ", ".join(_given((" ".join(_given((row.make, row.model))), serial)))


def _given(parts: Iterable[str]) -> list[str]:
    return [part for part in parts if part]
