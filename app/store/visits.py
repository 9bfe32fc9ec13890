"""Visits: one attendance at one premises by one technician with one instrument."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from sqlalchemy import ColumnElement, ForeignKey, Select, String, false, func, literal, or_, select, text, type_coerce
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship
from sqlalchemy.types import TypeDecorator

from app.rules.bookings import MINUTES_UNKNOWN, Held, convert_clock
from app.rules.decisions import DecisionRule
from app.rules.held_days import SPAN_MOST, HeldDay, parse_held_days
from app.rules.instrument_allowances import Allowance
from app.rules.judging import Judging
from app.rules.quantities import Unit
from app.rules.rulebooks import HouseLimit, rulebook_named
from app.rules.visits import VisitState
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.instruments import InstrumentRow
from app.store.paging import Page, Place, list_page
from app.store.people import PersonRow
from app.store.premises import PremisesRow

LIVE = (VisitState.BOOKED.value, VisitState.UNDER_WAY.value)


class ClockTime(TypeDecorator[time]):
    """A time of day, kept as hh:mm."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: time | None, dialect: Any) -> str | None:
        return None if value is None else value.strftime("%H:%M")

    def process_result_value(self, value: Any, dialect: Any) -> time | None:
        return None if value is None else time.fromisoformat(value)


class VisitRow(Base):
    __tablename__ = "visits"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), index=True)
    technician_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instruments.id"))
    #: The reason given before allowances were kept; those of earlier visits stay and are printed.
    instrument_reason: Mapped[str] = mapped_column(default="")
    instrument_allowances: Mapped[list[dict[str, str]] | None]
    booked_on: Mapped[date] = mapped_column(index=True)
    booked_time: Mapped[time | None] = mapped_column(ClockTime)
    #: How long technician and instrument are held; nothing for visits booked before lengths were kept.
    minutes: Mapped[int | None]
    minutes_by_hand: Mapped[bool] = mapped_column(default=False, server_default=false())
    #: What it is made for: what falls due up to this day and what waits for a test; nothing: the whole register.
    due_until: Mapped[date | None]
    #: On how many days somebody spread it; the last of several days, and what it holds of each, else nothing.
    days_asked: Mapped[int | None]
    last_on: Mapped[date | None]
    held_days: Mapped[list[dict[str, str]] | None]
    #: What calendars know the visit by (RFC 7986, 5.3), and when what they show was changed last.
    uid: Mapped[str] = mapped_column(default=lambda: str(uuid4()), server_default=text("''"))
    booking_changed_at: Mapped[datetime | None]
    note: Mapped[str]
    state: Mapped[str] = mapped_column(default=VisitState.BOOKED.value)
    state_reason: Mapped[str] = mapped_column(default="")
    rulebook_id: Mapped[str]
    decision_rule: Mapped[str] = mapped_column(default="simple", server_default="simple")
    house_limits: Mapped[list[dict[str, str]] | None]
    rulebook_settings: Mapped[dict[str, str] | None]
    dielectric_by: Mapped[str] = mapped_column(default="", server_default=text("''"))
    lead_ohms: Mapped[Decimal | None]
    both_ways: Mapped[bool] = mapped_column(default=False, server_default=false())
    conductor_c: Mapped[Decimal | None]
    started_at: Mapped[datetime | None]
    finished_at: Mapped[datetime | None]
    finished_on: Mapped[date | None]
    reopened_at: Mapped[datetime | None]
    reopened_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    premises: Mapped[PremisesRow] = relationship()
    technician: Mapped[PersonRow] = relationship()
    instrument: Mapped[InstrumentRow] = relationship()

    __mapper_args__ = {"version_id_col": version}

    @property
    def held(self) -> tuple[HeldDay, ...]:
        """What it holds of each of its days."""
        return _held(self.booked_on, self.booked_time, self.minutes, self.held_days)

    @property
    def until(self) -> date:
        """Its last day."""
        return self.last_on or self.booked_on

    def held_on(self, day: date) -> HeldDay | None:
        """What it holds of a day."""
        return next((each for each in self.held if each.day == day), None)

    @property
    def allowances(self) -> tuple[Allowance, ...]:
        """What the owner allowed about the instrument, in the order in which it was allowed."""
        return tuple(
            Allowance(
                int(told["instrument_id"]),
                tuple(told["worries"].splitlines()),
                told["by"],
                told["on"],
                told["reason"],
                _moment(told.get("at")),
                told.get("withdrawn_by", ""),
                told.get("withdrawn_on", ""),
                _moment(told.get("withdrawn_at")),
            )
            for told in self.instrument_allowances or ()
        )


def _moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


def _held(
    day: date, start: time | None, minutes: int | None, held_days: list[dict[str, str]] | None
) -> tuple[HeldDay, ...]:
    if held_days:
        return parse_held_days(held_days)
    return (HeldDay(day, convert_clock(start), MINUTES_UNKNOWN if minutes is None else minutes),)


def list_between(first: date, last: date) -> tuple[ColumnElement[bool], ...]:
    """The conditions under which a visit has a day among some days, for questions in SQL."""
    until = func.coalesce(VisitRow.last_on, VisitRow.booked_on)
    return VisitRow.booked_on.between(first - timedelta(days=SPAN_MOST), last), until >= first


def get_visit(session: Session, visit_id: int, locked: bool = False, kept: bool = False) -> VisitRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends, nor keeps it. kept: the row stays
    as it is until then; several may keep it at once, and whoever locks or changes it waits for all of them.
    """
    row = session.get(VisitRow, visit_id, with_for_update={"read": True} if kept else locked or None)
    if row is None:
        raise Missing("visit")
    return row


#: Newest day first; within a day those without a time, then by time. Databases disagree where nothing sorts.
_TIME = type_coerce(func.coalesce(VisitRow.booked_time, literal("", String)), String)
_ORDER = ((VisitRow.booked_on, True), (_TIME, False), (VisitRow.id, True))


def list_visits(
    session: Session,
    state: str = "",
    search: str = "",
    technician_id: int | None = None,
    premises_id: int | None = None,
    customer_id: int | None = None,
    day: date | None = None,
    limit: int = 500,
) -> list[VisitRow]:
    """Visits, newest day first."""
    query = _matching(_with_places(), state, search, technician_id, premises_id, customer_id, day)
    query = query.order_by(*(column.desc() if falls else column for column, falls in _ORDER))
    return list(session.scalars(query.limit(limit)))


def list_visit_page(
    session: Session,
    place: Place,
    size: int,
    state: str = "",
    search: str = "",
    technician_id: int | None = None,
    day: date | None = None,
) -> Page:
    """One page of the visits, newest day first."""
    query = _matching(_with_places(), state, search, technician_id, day=day)
    return list_page(session, query, _ORDER, VisitRow.id, place, size)


def count_matching_visits(
    session: Session, state: str = "", search: str = "", technician_id: int | None = None, day: date | None = None
) -> int:
    """How many visits list_visit_page has in all."""
    query = select(func.count(VisitRow.id)).join(VisitRow.customer).join(VisitRow.premises)
    return session.scalar(_matching(query, state, search, technician_id, day=day)) or 0


def _with_places() -> Select[Any]:
    places = (joinedload(VisitRow.customer), joinedload(VisitRow.premises), joinedload(VisitRow.technician))
    return select(VisitRow).join(VisitRow.customer).join(VisitRow.premises).options(*places)


def _matching(
    query: Any,
    state: str,
    search: str,
    technician_id: int | None = None,
    premises_id: int | None = None,
    customer_id: int | None = None,
    day: date | None = None,
) -> Any:
    for column, value in (
        (VisitRow.state, state or None),
        (VisitRow.technician_id, technician_id),
        (VisitRow.premises_id, premises_id),
        (VisitRow.customer_id, customer_id),
    ):
        if value is not None:
            query = query.where(column == value)
    if day is not None:
        query = query.where(*list_between(day, day))
    for word in search.split():
        columns = (CustomerRow.name, PremisesRow.name, PremisesRow.postcode)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return query


def list_live_visits(session: Session, first: date, last: date | None = None) -> list[VisitRow]:
    """The visits of a day, or of the days up to a last one, that are booked or under way, by day and time; those that
    hold several days with them, whichever of their days is among these.
    """
    query = (
        select(VisitRow)
        .where(*list_between(first, last or first), VisitRow.state.in_(LIVE))
        .options(
            joinedload(VisitRow.premises).joinedload(PremisesRow.customer),
            joinedload(VisitRow.customer),
            joinedload(VisitRow.technician),
            joinedload(VisitRow.instrument),
        )
        .order_by(VisitRow.booked_on, VisitRow.booked_time.is_(None), VisitRow.booked_time, VisitRow.id)
    )
    return list(session.scalars(query))


def list_held(session: Session, first: date, last: date | None = None) -> dict[date, list[Held]]:
    """What is held on a day, or on the days up to a last one, by visits that are booked or under way. Read anew.

    A visit of several days is held on each of them.
    """
    until = last or first
    query = (
        select(
            VisitRow.id,
            VisitRow.booked_on,
            VisitRow.booked_time,
            VisitRow.minutes,
            VisitRow.held_days,
            VisitRow.technician_id,
            PersonRow.name,
            VisitRow.instrument_id,
            InstrumentRow.name,
            PremisesRow.name,
            CustomerRow.name,
        )
        .join(VisitRow.technician)
        .join(VisitRow.instrument)
        .join(VisitRow.premises)
        .join(VisitRow.customer)
        .where(*list_between(first, until), VisitRow.state.in_(LIVE))
        .order_by(VisitRow.booked_on, VisitRow.id)
    )
    found: dict[date, list[Held]] = {}
    for row in session.execute(query):
        visit_id, booked_on, start, minutes, held_days, person_id, person, instrument_id, instrument, place, name = row
        for each in _held(booked_on, start, minutes, held_days):
            if first <= each.day <= until:
                held = Held(visit_id, each.start, each.minutes, person_id, person, instrument_id, instrument,
                            f"{place}, {name}")  # fmt: skip
                found.setdefault(each.day, []).append(held)
    return found


def list_held_locked(
    session: Session, first: date, last: date, person_id: int, instrument_id: int
) -> dict[date, list[Held]]:
    """What is held on some days, after nobody else can book this person or this instrument until the transaction ends.

    The rows of people and instruments are the locks, people first, so that two bookings never wait for each other. On
    SQLite a transaction that writes is alone anyway.
    """
    for table, row_id in ((PersonRow, person_id), (InstrumentRow, instrument_id)):
        # FOR NO KEY UPDATE: whoever only refers to the row, such as the journal, does not wait.
        session.execute(select(table.id).where(table.id == row_id).with_for_update(key_share=True))
    return list_held(session, first, last)


def count_visits_by_rulebook(session: Session, rulebook_id: str) -> tuple[int, int]:
    """How many visits that began are judged by a rulebook, and how many of them are under way."""
    query = select(func.count()).where(VisitRow.rulebook_id == rulebook_id, VisitRow.started_at.is_not(None))
    under_way = query.where(VisitRow.state == VisitState.UNDER_WAY.value)
    return session.scalar(query) or 0, session.scalar(under_way) or 0


def facts_for_judging(visit: VisitRow) -> Judging:
    """What a visit is judged by, as it was fixed when the visit began."""
    house = tuple(
        HouseLimit(
            check=told["check"],
            value=Decimal(told["value"]),
            unit=Unit(told["unit"]),
            at_least=told["bound"] == "at least",
            reason=told["reason"],
            since=told["since"],
            construction=told["construction"] or None,
        )
        for told in visit.house_limits or ()
    )
    rulebook = rulebook_named(visit.rulebook_id).with_settings(visit.rulebook_settings or {})
    ranges = tuple(row.as_range for row in visit.instrument.ranges)
    return Judging(
        rulebook.with_house(house) if house else rulebook,
        DecisionRule(visit.decision_rule),
        ranges,
        dielectric_by=visit.dielectric_by,
        lead_ohms=visit.lead_ohms,
        both_ways=visit.both_ways,
        conductor_c=visit.conductor_c,
    )
