"""Calendar feeds: secret addresses from which a calendar reads one person's visits, or the firm's."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, func, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.visits import VisitState
from app.store.database import Base, Missing
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow


class CalendarFeedRow(Base):
    """A secret address; only the hash of its token is kept. person_id: whose visits; None: everybody's."""

    __tablename__ = "calendar_feeds"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"), index=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    made_at: Mapped[datetime]
    made_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    withdrawn_at: Mapped[datetime | None]
    read_at: Mapped[datetime | None]
    person: Mapped[PersonRow | None] = relationship(foreign_keys=[person_id])


def find_calendar_feed(session: Session, token_hash: str) -> CalendarFeedRow | None:
    """The live feed of a token; that of somebody who left is dead."""
    row = session.scalar(select(CalendarFeedRow).where(CalendarFeedRow.token_hash == token_hash))
    if row is None or row.withdrawn_at is not None or (row.person is not None and not row.person.active):
        return None
    return row


def get_calendar_feed(session: Session, feed_id: int, locked: bool = False) -> CalendarFeedRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(CalendarFeedRow, feed_id, with_for_update=locked or None)
    if row is None:
        raise Missing("calendar feed")
    return row


def list_calendar_feeds(session: Session) -> list[CalendarFeedRow]:
    """The feeds that are not withdrawn."""
    query = select(CalendarFeedRow).where(CalendarFeedRow.withdrawn_at.is_(None)).order_by(CalendarFeedRow.id)
    return list(session.scalars(query.options(joinedload(CalendarFeedRow.person))))


def list_calendar_visits(session: Session, since: date, person_id: int | None) -> list[VisitRow]:
    """The visits from a day on, cancelled ones with them so that calendars take them out; of one person or of all."""
    query = (
        select(VisitRow)
        .where(
            func.coalesce(VisitRow.last_on, VisitRow.booked_on) >= since,
            VisitRow.state.in_([state.value for state in VisitState]),
        )
        .options(joinedload(VisitRow.premises).joinedload(PremisesRow.customer), joinedload(VisitRow.technician))
        .order_by(VisitRow.booked_on, VisitRow.id)
        .limit(5000)
    )
    if person_id is not None:
        query = query.where(VisitRow.technician_id == person_id)
    return list(session.scalars(query))
