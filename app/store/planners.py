"""What the planner shows: the visits of some days, who works when, and which instruments somebody could take."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from app.rules.instrument_standings import list_worries
from app.rules.planners import USUAL_HOURS, Hours
from app.rules.visits import VisitState
from app.store.instruments import list_instruments
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.reference_checks import facts_of_standing
from app.store.visits import VisitRow


def list_planned_visits(session: Session, first: date, last: date, technician_id: int | None = None) -> list[VisitRow]:
    """The visits of a span of days that are not cancelled, by day and time, with what a card says of them."""
    query = (
        select(VisitRow)
        .where(VisitRow.booked_on.between(first, last), VisitRow.state != VisitState.CANCELLED.value)
        .options(
            joinedload(VisitRow.premises).joinedload(PremisesRow.customer),
            joinedload(VisitRow.technician),
            joinedload(VisitRow.instrument),
        )
        .order_by(VisitRow.booked_on, VisitRow.booked_time.is_(None), VisitRow.booked_time, VisitRow.id)
    )
    if technician_id is not None:
        query = query.where(VisitRow.technician_id == technician_id)
    return list(session.scalars(query))


def facts_of_hours(
    session: Session, people: Sequence[PersonRow], days: Sequence[date]
) -> dict[tuple[int, date], Hours]:
    """When each of some people works on each of some days, and which days are closed."""
    weekend = Hours(None)
    return {(person.id, day): USUAL_HOURS if day.weekday() < 5 else weekend for person in people for day in days}


def list_instruments_for(session: Session, technician_id: int, day: date) -> list[int]:
    """The instruments that are fit for use on a day: first the one that a technician took last, then by name."""
    last = (
        select(VisitRow.instrument_id)
        .where(VisitRow.technician_id == technician_id)
        .order_by(VisitRow.booked_on.desc(), VisitRow.id.desc())
    )
    usual = session.scalar(last.limit(1))
    rows = [row for row in list_instruments(session) if row.active]
    fit = [row.id for row in rows if not list_worries(facts_of_standing(session, row), day)]
    return sorted(fit, key=lambda row_id: row_id != usual)
