"""Questions about whole registers: how many items there are and what is due, by customer, premises and location."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy import case, func, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.rules.items import ItemState
from app.store.customers import ContactRow, CustomerRow
from app.store.items import ItemRow
from app.store.paging import Page, Place, list_page
from app.store.premises import PremisesRow

#: Items due within so many days are shown as due soon.
SOON_DAYS = 30


@dataclass(frozen=True)
class RegisterCounts:
    """How many items are on a register, withdrawn ones apart. untested, overdue and soon are among those in use."""

    items: int = 0
    out_of_use: int = 0
    untested: int = 0
    overdue: int = 0
    soon: int = 0
    first_due_on: date | None = None


def count_register(session: Session, premises_id: int, today: date) -> RegisterCounts:
    """The counts of one premises."""
    return _count(session, ItemRow.premises_id, [premises_id], today).get(premises_id, RegisterCounts())


def count_registers(session: Session, premises_ids: Iterable[int], today: date) -> dict[int, RegisterCounts]:
    """The counts of several premises, by id; one without items is left out."""
    return _count(session, ItemRow.premises_id, list(premises_ids), today)


def count_registers_of_customers(
    session: Session, customer_ids: Iterable[int], today: date
) -> dict[int, RegisterCounts]:
    """The counts of several customers, by id; one without items is left out."""
    return _count(session, ItemRow.customer_id, list(customer_ids), today)


def count_premises_of_customers(session: Session, customer_ids: Iterable[int]) -> dict[int, int]:
    """How many premises each customer has."""
    wanted = PremisesRow.customer_id.in_(list(customer_ids))
    query = select(PremisesRow.customer_id, func.count()).where(wanted).group_by(PremisesRow.customer_id)
    return dict(session.execute(query).all())


def count_items_at_locations(session: Session, premises_id: int) -> dict[int, int]:
    """How many items, withdrawn ones apart, each location of a premises has."""
    query = (
        select(ItemRow.location_id, func.count())
        .where(ItemRow.premises_id == premises_id, ItemRow.state != ItemState.WITHDRAWN.value)
        .group_by(ItemRow.location_id)
    )
    return dict(session.execute(query).all())


def count_items_of_types(session: Session) -> dict[int, int]:
    """How many items, withdrawn ones apart, there are of each equipment type."""
    query = select(ItemRow.equipment_type_id, func.count()).where(ItemRow.state != ItemState.WITHDRAWN.value)
    found = session.execute(query.group_by(ItemRow.equipment_type_id))
    return {type_id: number for type_id, number in found if type_id is not None}


def list_customers_by_words(session: Session, search: str) -> list[CustomerRow]:
    """Customers for whom every word stands in their details, in a contact, or in one of their premises."""
    query = _with_words(select(CustomerRow), search)
    return list(session.scalars(query.order_by(func.lower(CustomerRow.name), CustomerRow.id)))


def list_customer_page(session: Session, place: Place, size: int, search: str = "") -> Page:
    """One page of the same, by name."""
    order = ((func.lower(CustomerRow.name), False), (CustomerRow.id, False))
    return list_page(session, _with_words(select(CustomerRow), search), order, CustomerRow.id, place, size)


def count_customers(session: Session, search: str = "") -> int:
    """How many customers list_customer_page has in all."""
    return session.scalar(_with_words(select(func.count(CustomerRow.id)), search)) or 0


def _with_words(query: Any, search: str) -> Any:
    own = (CustomerRow.name, CustomerRow.address, CustomerRow.postcode, CustomerRow.email, CustomerRow.phone)
    for word in search.split():
        contact = _any_holds((ContactRow.name, ContactRow.phone, ContactRow.email), word)
        place = _any_holds((PremisesRow.name, PremisesRow.address, PremisesRow.postcode), word)
        query = query.where(
            or_(
                _any_holds(own, word),
                CustomerRow.id.in_(select(ContactRow.customer_id).where(contact)),
                CustomerRow.id.in_(select(PremisesRow.customer_id).where(place)),
            )
        )
    return query


def _any_holds(columns: Iterable[InstrumentedAttribute[str]], word: str) -> Any:
    return or_(*(column.icontains(word, autoescape=True) for column in columns))


def _count(
    session: Session, column: InstrumentedAttribute[int], ids: list[int], today: date
) -> dict[int, RegisterCounts]:
    in_use = ItemRow.state == ItemState.IN_USE.value
    due = ItemRow.next_due_on

    def total(condition: Any) -> Any:
        return func.sum(case((condition, 1), else_=0))

    query = (
        select(
            column,
            func.count(),
            total(ItemRow.state == ItemState.OUT_OF_USE.value),
            total(in_use & ItemRow.last_tested_on.is_(None)),
            total(in_use & (due < today)),
            total(in_use & (due >= today) & (due <= today + timedelta(days=SOON_DAYS))),
            func.min(case((in_use, due))),
        )
        .where(column.in_(ids), ItemRow.state != ItemState.WITHDRAWN.value)
        .group_by(column)
    )
    return {row[0]: RegisterCounts(*row[1:]) for row in session.execute(query)}
