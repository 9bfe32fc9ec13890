"""What the planner shows: the visits of some days, who works when, and which instruments somebody could take."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from app.rules.bank_holidays import list_bank_holidays
from app.rules.instrument_standings import list_worries
from app.rules.planners import Hours
from app.rules.visits import VisitState
from app.rules.working_times import list_off
from app.store.instruments import list_instruments
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.reference_checks import facts_of_standings
from app.store.visits import VisitRow, list_between
from app.store.working_times import facts_of_booking_rules, facts_of_days_off, facts_of_working_times


def list_planned_visits(session: Session, first: date, last: date, technician_id: int | None = None) -> list[VisitRow]:
    """The visits of a span of days that are not cancelled, by day and time, with what a card says of them; one of
    several days is among them if any of its days is.
    """
    query = (
        select(VisitRow)
        .where(*list_between(first, last), VisitRow.state != VisitState.CANCELLED.value)
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
    """When each of some people works on each of some days, and why not: bank holidays, days off.

    Somebody without working times, such as an owner, is taken to work the firm's usual week.
    """
    rules = facts_of_booking_rules(session)
    times = facts_of_working_times(session, people, rules)
    holidays = list_bank_holidays(rules.region, {day.year for day in days})
    off = facts_of_days_off(session, min(days), max(days)) if days else []
    found: dict[tuple[int, date], Hours] = {}
    for person in people:
        week = times[person.id].week if any(times[person.id].week) else rules.week
        closed = list_off(days, person.id, off, holidays)
        found |= {(person.id, day): Hours(week[day.weekday()], closed.get(day, "")) for day in days}
    return found


def list_instruments_for(session: Session, technician_id: int, day: date) -> list[int]:
    """The instruments that are fit for use on a day: first the one that a technician took last, then by name."""
    last = (
        select(VisitRow.instrument_id)
        .where(VisitRow.technician_id == technician_id)
        .order_by(VisitRow.booked_on.desc(), VisitRow.id.desc())
    )
    usual = session.scalar(last.limit(1))
    rows = [row for row in list_instruments(session) if row.active]
    standings = facts_of_standings(session, rows)
    fit = [row.id for row in rows if not list_worries(standings[row.id], day)]
    return sorted(fit, key=lambda row_id: row_id != usual)
