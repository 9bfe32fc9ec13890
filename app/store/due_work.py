"""What falls due where: the items of every premises by day, kind and type, in one question; and the firm's own pace."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from sqlalchemy import case, func, or_, select
from sqlalchemy.orm import Session, selectinload

from app.rules.due_work import DueGroup
from app.rules.equipment import Kind
from app.rules.items import ItemState
from app.rules.prices import PriceAgreement
from app.store.customers import CustomerRow
from app.store.equipment_types import EquipmentTypeRow
from app.store.items import ItemRow, list_served
from app.store.premises import PremisesRow
from app.store.prices import PriceAgreementRow, PriceStepRow
from app.store.visits import LIVE, VisitRow


@dataclass(frozen=True)
class DuePlace:
    """A premises with something due. miles: there and back; booked_on: its next visit, where there is one.

    waiting: the items there that wait for a test without a date, by kind and name of their type.
    """

    premises_id: int
    premises: str
    postcode: str
    environment: str
    miles: Decimal | None
    customer_id: int
    customer: str
    booked_on: date | None
    visit_id: int | None
    groups: list[DueGroup] = field(default_factory=list)
    waiting: dict[tuple[Kind, str], int] = field(default_factory=dict)


def list_due_places(
    session: Session, until: date, customer_id: int | None = None, environment: str = ""
) -> list[DuePlace]:
    """Every premises with items in use that fall due up to a day, by customer and name."""
    first = func.row_number().over(partition_by=VisitRow.premises_id, order_by=(VisitRow.booked_on, VisitRow.id))
    visits = (
        select(VisitRow.premises_id, VisitRow.booked_on.label("day"), VisitRow.id.label("visit"), first.label("place"))
        .where(VisitRow.state.in_(LIVE))
        .subquery()
    )
    booked = select(visits).where(visits.c.place == 1).subquery()
    place = (
        PremisesRow.id,
        PremisesRow.name,
        PremisesRow.postcode,
        PremisesRow.environment,
        PremisesRow.miles,
        CustomerRow.id,
        CustomerRow.name,
        booked.c.day,
        booked.c.visit,
    )
    where = select(*place).join(CustomerRow, PremisesRow.customer_id == CustomerRow.id)
    where = where.outerjoin(booked, booked.c.premises_id == PremisesRow.id)
    # The places in one question and what is due there in another: names are not read again for each of many days.
    dated = case((ItemRow.state == ItemState.IN_USE.value, ItemRow.next_due_on))
    alike = (ItemRow.premises_id, dated, ItemRow.kind, ItemRow.equipment_type_id)
    items = select(*alike, func.count()).where(*list_served(until))
    if customer_id is not None:
        where, items = (
            where.where(PremisesRow.customer_id == customer_id),
            items.where(ItemRow.customer_id == customer_id),
        )
    if environment:
        where = where.where(PremisesRow.environment == environment)
    types: dict[int | None, str] = {
        row[0]: row[1] for row in session.execute(select(EquipmentTypeRow.id, EquipmentTypeRow.name))
    }
    places = {row[0]: DuePlace(*row) for row in session.execute(where)}
    for premises_id, due_on, kind, type_id, count in session.execute(items.group_by(*alike)):
        if (found := places.get(premises_id)) is None:
            continue
        name = types.get(type_id, "")
        if due_on is not None:
            found.groups.append(DueGroup(due_on, Kind(kind), name, count))
        else:
            found.waiting[Kind(kind), name] = found.waiting.get((Kind(kind), name), 0) + count
    for found in places.values():
        found.groups.sort(key=lambda group: (group.due_on, group.kind, group.type_name))
    served = [found for found in places.values() if found.groups]
    return sorted(served, key=lambda found: (found.customer, found.premises, found.premises_id))


def count_without_date(session: Session) -> int:
    """How many items in use have no day on which they fall due, because they have passed no test yet."""
    query = select(func.count()).select_from(ItemRow)
    return session.scalar(query.where(ItemRow.state == ItemState.IN_USE.value, ItemRow.next_due_on.is_(None))) or 0


def facts_of_agreements(session: Session, day: date) -> dict[int | None, PriceAgreement]:
    """The agreement that holds on a day for each customer with one of its own; the firm's under None."""
    query = (
        select(PriceAgreementRow)
        .where(PriceAgreementRow.valid_from <= day)
        .where(or_(PriceAgreementRow.valid_until.is_(None), PriceAgreementRow.valid_until >= day))
        .order_by(PriceAgreementRow.valid_from, PriceAgreementRow.id)
        .options(
            selectinload(PriceAgreementRow.kinds),
            selectinload(PriceAgreementRow.steps).joinedload(PriceStepRow.equipment_type),
            selectinload(PriceAgreementRow.extras),
        )
    )
    return {row.customer_id: row.facts for row in session.scalars(query)}  # the newest comes last and stays
