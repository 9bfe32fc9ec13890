"""Items: the register of what a customer has, and what was found wrong with each."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlalchemy import ColumnElement, ForeignKey, Select, UniqueConstraint, false, func, or_, select, text
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.items import ItemDetails, ItemState
from app.store.customers import CustomerRow
from app.store.database import STRICT, Base, Missing
from app.store.equipment_types import EquipmentTypeRow, FactsColumns
from app.store.number_runs import list_number_runs
from app.store.premises import LocationRow, PremisesRow


class ItemRow(FactsColumns, Base):
    __tablename__ = "items"
    __table_args__ = (UniqueConstraint("customer_id", "number"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"))
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), index=True)
    location_id: Mapped[int] = mapped_column(ForeignKey("locations.id"), index=True)
    equipment_type_id: Mapped[int | None] = mapped_column(ForeignKey("equipment_types.id"), index=True)
    number: Mapped[str]
    description: Mapped[str]
    make: Mapped[str]
    model: Mapped[str]
    serial: Mapped[str]
    batch: Mapped[str] = mapped_column(default="", server_default=text("''"))
    notes: Mapped[str]
    interval_months: Mapped[int | None]
    interval_reason: Mapped[str]
    own_checks: Mapped[list[str] | None]
    state: Mapped[str] = mapped_column(default=ItemState.IN_USE.value)
    state_reason: Mapped[str] = mapped_column(default="")
    added_on: Mapped[date]
    last_tested_on: Mapped[date | None]
    last_verdict: Mapped[str | None]
    next_due_on: Mapped[date | None] = mapped_column(index=True)
    withdrawn_on: Mapped[date | None]
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    premises: Mapped[PremisesRow] = relationship()
    location: Mapped[LocationRow] = relationship()
    equipment_type: Mapped[EquipmentTypeRow | None] = relationship()

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> ItemDetails:
        values = {name: getattr(self, name) for name in ItemDetails.__dataclass_fields__}
        return ItemDetails(**values)


class DefectRow(Base):
    """What was found wrong with an item. It is closed by a pass at a later test, never by word alone."""

    __tablename__ = "defects"

    id: Mapped[int] = mapped_column(primary_key=True)
    item_id: Mapped[int] = mapped_column(ForeignKey("items.id"), index=True)
    visit_item_id: Mapped[int | None] = mapped_column(ForeignKey("visit_items.id"), index=True)
    round_id: Mapped[int | None] = mapped_column(ForeignKey("rounds.id"), index=True)
    found_at: Mapped[datetime]
    found: Mapped[str]
    remedy: Mapped[str]
    closed_on: Mapped[date | None]
    #: A recalled product: a pass at a test does not close it.
    recalled: Mapped[bool] = mapped_column(default=False, server_default=false())
    #: Who must act, by a word of Duty; empty where the rules say it. A person of the firm only for "person".
    duty: Mapped[str] = mapped_column(default="", server_default=text("''"))
    duty_person_id: Mapped[int | None]  # a person; SQLite cannot add a foreign key to a table that is there
    act_by: Mapped[date | None]
    said_done_at: Mapped[datetime | None]
    version: Mapped[int] = mapped_column(default=1, server_default=text("1"))
    item: Mapped[ItemRow] = relationship()

    __mapper_args__ = {"version_id_col": version}


def get_item(session: Session, item_id: int) -> ItemRow:
    """Raises Missing."""
    row = session.get(ItemRow, item_id)
    if row is None:
        raise Missing("item")
    return row


def list_items_by_id(session: Session, item_ids: Iterable[int]) -> list[ItemRow]:
    """Items with what their interval depends on, in one question. Raises Missing where one is not there."""
    wanted = set(item_ids)
    query = (
        select(ItemRow)
        .where(ItemRow.id.in_(wanted))
        .order_by(ItemRow.id)
        .options(joinedload(ItemRow.premises), joinedload(ItemRow.equipment_type))
    )
    rows = list(session.scalars(query))
    if len(rows) != len(wanted):
        raise Missing("item")
    return rows


def find_item_by_number(session: Session, customer_id: int, number: str) -> ItemRow | None:
    return session.scalar(select(ItemRow).where(ItemRow.customer_id == customer_id, ItemRow.number == number))


def list_item_numbers(session: Session, customer_id: int) -> list[str]:
    """The numbers in use at a customer, and the last of each run that was printed ahead: the next free one is after."""
    taken = list(session.scalars(select(ItemRow.number).where(ItemRow.customer_id == customer_id)))
    return taken + [run.last_number for run in list_number_runs(session, customer_id)]


def list_served(due_until: date | None) -> tuple[ColumnElement[bool], ...]:
    """The conditions under which a visit serves an item of its premises, for questions in SQL.

    Without a day everything on the register; with one what falls due up to it, and what waits for a test without a
    date: items in use that have passed none, and those that are out of use.
    """
    here = ItemRow.state != ItemState.WITHDRAWN.value
    if due_until is None:
        return (here,)
    waiting = or_(ItemRow.state == ItemState.OUT_OF_USE.value, ItemRow.next_due_on.is_(None))
    return here, or_(waiting, ItemRow.next_due_on <= due_until)


def list_items_served(session: Session, premises_id: int, due_until: date | None) -> list[ItemRow]:
    """The items that a visit to premises serves, in the order of its locations."""
    return [*session.scalars(_at(premises_id).where(*list_served(due_until)))]


def count_served(session: Session, premises_id: int, due_until: date | None) -> int:
    """How many items a visit to premises serves."""
    query = select(func.count(ItemRow.id)).where(ItemRow.premises_id == premises_id, *list_served(due_until))
    return session.scalar(query) or 0


def _at(premises_id: int) -> Select[ItemRow]:
    return (
        select(ItemRow)
        .join(LocationRow, ItemRow.location_id == LocationRow.id)
        .where(ItemRow.premises_id == premises_id)
        .order_by(LocationRow.position, LocationRow.name, func.length(ItemRow.number), ItemRow.number)
        .options(joinedload(ItemRow.location), joinedload(ItemRow.equipment_type))
    )


def list_items(
    session: Session,
    premises_id: int,
    search: str = "",
    location_id: int | None = None,
    equipment_type_id: int | None = None,
    construction: str = "",
    state: str = "",
) -> list[ItemRow]:
    """The items at a premises in the order of its locations. Withdrawn ones only where that state is asked for."""
    query = _at(premises_id)
    query = query.where(ItemRow.state == state) if state else query.where(ItemRow.state != ItemState.WITHDRAWN.value)
    if location_id is not None:
        query = query.where(ItemRow.location_id == location_id)
    if equipment_type_id is not None:
        query = query.where(ItemRow.equipment_type_id == equipment_type_id)
    if construction:
        query = query.where(ItemRow.construction == construction)
    columns = (ItemRow.number, ItemRow.description, ItemRow.make, ItemRow.model, ItemRow.serial, LocationRow.name)
    for word in search.split():
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return list(session.scalars(query))


def list_items_at(session: Session, location_id: int) -> list[ItemRow]:
    return list(session.scalars(select(ItemRow).where(ItemRow.location_id == location_id)))


def list_open_defects(session: Session, item_id: int) -> list[DefectRow]:
    return list(
        session.scalars(
            select(DefectRow).where(DefectRow.item_id == item_id, DefectRow.closed_on.is_(None)).order_by(DefectRow.id)
        )
    )


def change_defects_to_open(session: Session, item_id: int, closed_on: date) -> None:
    """Open again what a test closed on a day; a recall was closed by what was done about it, and stays so."""
    closed = (DefectRow.item_id == item_id, DefectRow.closed_on == closed_on, DefectRow.recalled.is_(False))
    for row in session.scalars(select(DefectRow).where(*closed)).all():
        row.closed_on = None


def change_defects_to_closed(session: Session, item_id: int, closed_on: date) -> None:
    """Close every open defect of an item but that of a recall, which no test ends."""
    open_now = (DefectRow.item_id == item_id, DefectRow.closed_on.is_(None), DefectRow.recalled.is_(False))
    for row in session.scalars(select(DefectRow).where(*open_now)).all():
        row.closed_on = closed_on
