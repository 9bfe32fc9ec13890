"""Questions of bookings as the office asked them, and the proposals that answer them."""

from collections.abc import Iterable
from datetime import date, datetime, time
from enum import StrEnum

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.booking_conflicts import Planned
from app.rules.held_days import HeldDay, parse_held_days
from app.store.database import Base, Missing
from app.store.instruments import InstrumentRow
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.visits import ClockTime, VisitRow


class RunState(StrEnum):
    WAITING = "being worked out"
    ANSWERED = "answered"
    FAILED = "not worked out"


class ProposalRunRow(Base):
    """One question: which premises, from which day on, for how many weeks, how many days early at most."""

    __tablename__ = "proposal_runs"

    id: Mapped[int] = mapped_column(primary_key=True)
    asked_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    asked_at: Mapped[datetime]
    begins_on: Mapped[date]
    weeks: Mapped[int]
    early_days: Mapped[int]
    state: Mapped[str]
    method: Mapped[str]
    asked_by: Mapped[PersonRow] = relationship()
    proposals: Mapped[list["ProposalRow"]] = relationship(
        order_by="ProposalRow.day, ProposalRow.technician_id, ProposalRow.starts_at, ProposalRow.id"
    )


class ProposalRow(Base):
    """The premises of a question, and where there is one the visit that is proposed; day None: it found no place.

    minutes: on site; travel_minutes: what it adds to the day; due_until: as with a visit. by_hand: somebody put it
    there, and it stays there.
    """

    __tablename__ = "proposals"

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("proposal_runs.id"), index=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"))
    minutes: Mapped[int]
    day: Mapped[date | None]
    starts_at: Mapped[time | None] = mapped_column(ClockTime)
    technician_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    instrument_id: Mapped[int | None] = mapped_column(ForeignKey("instruments.id"))
    travel_minutes: Mapped[int]
    due_until: Mapped[date | None]
    held_days: Mapped[list[dict[str, str]] | None]
    reasons: Mapped[list[str]]
    by_hand: Mapped[bool] = mapped_column(default=False)
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visits.id"))
    version: Mapped[int] = mapped_column(default=1)
    run: Mapped[ProposalRunRow] = relationship(overlaps="proposals")
    premises: Mapped[PremisesRow] = relationship()
    technician: Mapped[PersonRow | None] = relationship()
    instrument: Mapped[InstrumentRow | None] = relationship()
    visit: Mapped[VisitRow | None] = relationship()

    __mapper_args__ = {"version_id_col": version}

    @property
    def held(self) -> tuple[HeldDay, ...]:
        """What it would hold of each of its days; nothing without a place."""
        if self.day is None or self.starts_at is None:
            return ()
        if self.held_days:
            return parse_held_days(self.held_days)
        return (HeldDay(self.day, self.starts_at.hour * 60 + self.starts_at.minute, self.minutes),)

    @property
    def open(self) -> bool:
        """Whether it could be booked."""
        return self.visit_id is None and self.day is not None


def get_proposal_run(session: Session, run_id: int, locked: bool = False) -> ProposalRunRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(ProposalRunRow, run_id, with_for_update=locked or None)
    if row is None:
        raise Missing("proposals")
    return row


def get_proposal(session: Session, run_id: int, proposal_id: int) -> ProposalRow:
    """A proposal of this question. Raises Missing."""
    row = session.get(ProposalRow, proposal_id)
    if row is None or row.run_id != run_id:
        raise Missing("proposal")
    return row


def list_locked(session: Session, people: Iterable[int], instruments: Iterable[int]) -> None:
    """Let nobody else book these people and instruments until the transaction ends.

    People come first, as with a single booking, so that the two never wait for each other.
    """
    for table, ids in ((PersonRow, set(people)), (InstrumentRow, set(instruments))):
        session.execute(
            select(table.id).where(table.id.in_(ids)).order_by(table.id).with_for_update(key_share=True)
        ).all()


def list_proposal_runs(session: Session, limit: int = 30) -> list[ProposalRunRow]:
    """The newest questions first."""
    return list(session.scalars(select(ProposalRunRow).order_by(ProposalRunRow.id.desc()).limit(limit)))


def facts_of_plans(rows: Iterable[ProposalRow]) -> list[Planned]:
    """What is about to be booked, for the rules, each of several days by itself; rows without a place are left out."""
    return [
        Planned(
            row.id,
            row.premises_id,
            row.premises.name,
            each.minutes,
            row.technician_id or 0,
            row.instrument_id or 0,
            each.day,
            each.start or 0,
        )
        for row in rows
        for each in row.held
    ]
