"""Visits that are wanted and not booked yet, and the repeat agreements that make them in advance."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, UniqueConstraint, select, text
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.repeats import Repeat, WantedState
from app.store.customers import CustomerRow
from app.store.database import STRICT, Base, Missing
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow


class RepeatAgreementRow(Base):
    """Visits to one premises every so many months. prices: those agreed, as they were; None: whatever holds on the day.

    ends_on is the last day on which a visit of it may be wanted; follows_id: the agreement that it took the place of.
    """

    __tablename__ = "repeat_agreements"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), index=True)
    first_on: Mapped[date]
    every_months: Mapped[int]
    ends_on: Mapped[date | None]
    end_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    technician_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    minutes: Mapped[int | None]
    note: Mapped[str] = mapped_column(default="", server_default=text("''"))
    prices: Mapped[dict[str, Any] | None]
    follows_id: Mapped[int | None] = mapped_column(ForeignKey("repeat_agreements.id"), unique=True)
    made_at: Mapped[datetime]
    made_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    premises: Mapped[PremisesRow] = relationship()
    technician: Mapped[PersonRow | None] = relationship(foreign_keys=[technician_id])
    wanted: Mapped[list["WantedVisitRow"]] = relationship(order_by="WantedVisitRow.wanted_on", viewonly=True)

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> Repeat:
        return Repeat(self.first_on, self.every_months, self.ends_on, self.technician_id, self.minutes, self.note)


class WantedVisitRow(Base):
    """A visit that waits for a day or for somebody to go. visit_id: the one that was booked for it.
    due_until: as with a visit.

    An agreement wants one visit a day at most, so that none is made twice, whoever makes them at the same moment.
    """

    __tablename__ = "wanted_visits"
    __table_args__ = (UniqueConstraint("repeat_agreement_id", "wanted_on"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), index=True)
    repeat_agreement_id: Mapped[int | None] = mapped_column(ForeignKey("repeat_agreements.id"))
    wanted_on: Mapped[date | None] = mapped_column(index=True)
    technician_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    minutes: Mapped[int | None]
    due_until: Mapped[date | None]
    note: Mapped[str] = mapped_column(default="", server_default=text("''"))
    state: Mapped[str] = mapped_column(default=WantedState.WAITING.value)
    state_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visits.id"), unique=True)
    made_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)
    premises: Mapped[PremisesRow] = relationship()
    repeat: Mapped[RepeatAgreementRow | None] = relationship()
    technician: Mapped[PersonRow | None] = relationship()
    visit: Mapped[VisitRow | None] = relationship()

    __mapper_args__ = {"version_id_col": version}


def get_wanted_visit(session: Session, wanted_id: int, locked: bool = False) -> WantedVisitRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(WantedVisitRow, wanted_id, with_for_update=locked or None)
    if row is None:
        raise Missing("visit that is wanted")
    return row


def list_wanted_visits(session: Session, until: date) -> list[WantedVisitRow]:
    """What waits to be booked: without a day, or wanted up to one; the earliest first."""
    query = (
        select(WantedVisitRow)
        .where(
            WantedVisitRow.state == WantedState.WAITING.value,
            WantedVisitRow.wanted_on.is_(None) | (WantedVisitRow.wanted_on <= until),
        )
        .options(joinedload(WantedVisitRow.premises).joinedload(PremisesRow.customer))
        .order_by(WantedVisitRow.wanted_on.is_(None), WantedVisitRow.wanted_on, WantedVisitRow.id)
    )
    return list(session.scalars(query))


def find_wanted_of_visit(session: Session, visit_id: int) -> WantedVisitRow | None:
    """What waited in the pool until a visit was booked for it."""
    return session.scalar(select(WantedVisitRow).where(WantedVisitRow.visit_id == visit_id))


def find_repeat_of_visit(session: Session, visit_id: int) -> RepeatAgreementRow | None:
    """The repeat agreement from which a visit was booked."""
    query = select(RepeatAgreementRow).join(WantedVisitRow, WantedVisitRow.repeat_agreement_id == RepeatAgreementRow.id)
    return session.scalar(query.where(WantedVisitRow.visit_id == visit_id))


def get_repeat_agreement(session: Session, agreement_id: int, locked: bool = False) -> RepeatAgreementRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(RepeatAgreementRow, agreement_id, with_for_update=locked or None)
    if row is None:
        raise Missing("repeat agreement")
    return row


def list_repeat_agreements(session: Session, premises_id: int | None = None) -> list[RepeatAgreementRow]:
    """Repeat agreements, those that go on first, by customer."""
    query = (
        select(RepeatAgreementRow)
        .join(RepeatAgreementRow.customer)
        .options(joinedload(RepeatAgreementRow.premises), joinedload(RepeatAgreementRow.customer))
        .order_by(RepeatAgreementRow.ends_on.is_not(None), CustomerRow.name, RepeatAgreementRow.id)
    )
    if premises_id is not None:
        query = query.where(RepeatAgreementRow.premises_id == premises_id)
    return list(session.scalars(query))


def list_wanted_of(session: Session, agreement_id: int) -> list[WantedVisitRow]:
    """Every visit that an agreement has wanted, by day."""
    query = (
        select(WantedVisitRow)
        .where(WantedVisitRow.repeat_agreement_id == agreement_id)
        .options(joinedload(WantedVisitRow.visit))
        .order_by(WantedVisitRow.wanted_on)
    )
    return list(session.scalars(query))
