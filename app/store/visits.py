"""Visits: one attendance at one premises by one technician with one instrument."""

from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from sqlalchemy import ForeignKey, String, false, func, or_, select, text
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship
from sqlalchemy.types import TypeDecorator

from app.rules.decisions import DecisionRule
from app.rules.instrument_allowances import Allowance
from app.rules.judging import Judging
from app.rules.quantities import Unit
from app.rules.rulebooks import HouseLimit, rulebook_named
from app.rules.visits import VisitState
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.instruments import InstrumentRow
from app.store.people import PersonRow
from app.store.premises import PremisesRow


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
    def allowances(self) -> tuple[Allowance, ...]:
        """What the owner allowed about the instrument, in the order in which it was allowed."""
        return tuple(
            Allowance(
                int(told["instrument_id"]),
                tuple(told["worries"].splitlines()),
                told["by"],
                told["on"],
                told["reason"],
            )
            for told in self.instrument_allowances or ()
        )


def get_visit(session: Session, visit_id: int, locked: bool = False) -> VisitRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(VisitRow, visit_id, with_for_update=locked or None)
    if row is None:
        raise Missing("visit")
    return row


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
    query = (
        select(VisitRow)
        .join(VisitRow.customer)
        .join(VisitRow.premises)
        .options(joinedload(VisitRow.customer), joinedload(VisitRow.premises), joinedload(VisitRow.technician))
        .order_by(VisitRow.booked_on.desc(), VisitRow.booked_time, VisitRow.id.desc())
        .limit(limit)
    )
    for column, value in (
        (VisitRow.state, state or None),
        (VisitRow.technician_id, technician_id),
        (VisitRow.premises_id, premises_id),
        (VisitRow.customer_id, customer_id),
        (VisitRow.booked_on, day),
    ):
        if value is not None:
            query = query.where(column == value)
    for word in search.split():
        query = query.where(
            or_(
                *(
                    column.icontains(word, autoescape=True)
                    for column in (CustomerRow.name, PremisesRow.name, PremisesRow.postcode)
                )
            )
        )
    return list(session.scalars(query))


def list_visit_conflicts(
    session: Session, technician_id: int, instrument_id: int, day: date, but: int = 0
) -> list[VisitRow]:
    """Other live visits of the same technician or instrument on a day."""
    live = (VisitState.BOOKED.value, VisitState.UNDER_WAY.value)
    query = select(VisitRow).where(
        VisitRow.booked_on == day,
        VisitRow.state.in_(live),
        VisitRow.id != but,
        or_(VisitRow.technician_id == technician_id, VisitRow.instrument_id == instrument_id),
    )
    return list(session.scalars(query))


def count_visits(session: Session, premises_id: int) -> int:
    return session.scalar(select(func.count()).select_from(VisitRow).where(VisitRow.premises_id == premises_id)) or 0


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
