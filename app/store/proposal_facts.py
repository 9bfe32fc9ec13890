"""The facts of a question of bookings as they are now: what falls due there, who works when, what is booked."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.rules.bank_holidays import list_bank_holidays
from app.rules.due_work import DueVisit, suggest_visits, total_due_estimate
from app.rules.equipment import Kind, Supply
from app.rules.instrument_standings import Standing, list_worries
from app.rules.items import ItemState
from app.rules.paces import Paces
from app.rules.proposals import Fixed, Instrument, Question, Wish, Worker, list_days
from app.rules.travel import BASE, Stop, number_travel
from app.rules.visits import VisitState
from app.rules.working_times import ANY_TIME, AccessTimes, BookingRules, Skill, list_off
from app.store.due_work import list_due_places
from app.store.instruments import list_instruments
from app.store.items import ItemRow
from app.store.paces import facts_of_paces
from app.store.people import list_technicians
from app.store.planning_settings import get_planning_settings
from app.store.premises import PremisesRow
from app.store.proposals import ProposalRunRow
from app.store.reference_checks import facts_of_standings
from app.store.visits import VisitRow, list_live_visits
from app.store.working_times import (
    facts_of_access_times,
    facts_of_booking_rules,
    facts_of_days_off,
    facts_of_travel_times,
    facts_of_working_times,
)

_LIVE = (VisitState.BOOKED.value, VisitState.UNDER_WAY.value)


def facts_of_question(
    session: Session, premises_ids: Iterable[int], days: Sequence[date], early_days: int, today: date
) -> Question:
    """The question for some premises and days. Premises at which nothing falls due by the last of them make no wish."""
    wanted = set(premises_ids)
    rules = facts_of_booking_rules(session)
    paces = facts_of_paces(session)
    fixed = _fixed(session, days)
    places = {row.id: row for row in session.scalars(select(PremisesRow).where(PremisesRow.id.in_(
        wanted | {each.place_id for each in fixed})))}  # fmt: skip
    access = facts_of_access_times(session, places)
    stops = {BASE: Stop(BASE, rules.point)} | {
        row.id: Stop(row.id, access[row.id].point if row.id in access else None, row.miles) for row in places.values()
    }
    visits = facts_of_next_visits(session, wanted, days[-1], early_days, today)
    skills = facts_of_skills(session, {place_id: visit.last_due_on for place_id, visit in visits.items()})
    instruments = [row for row in list_instruments(session) if row.active]
    return Question(
        tuple(days),
        tuple(
            _wish(places[place_id], visit, access.get(place_id, AccessTimes()), rules, days, early_days, paces, skills)
            for place_id, visit in visits.items()
        ),
        _workers(session, days, rules),
        tuple(
            Instrument(standing.instrument_id, standing.name, _list_fit_days(standing, days))
            for standing in facts_of_standings(session, instruments).values()
        ),
        fixed,
        number_travel(stops, rules.pace, facts_of_travel_times(session, places)),
        rules.free_percent,
    )


def _list_fit_days(standing: Standing, days: Iterable[date]) -> frozenset[date]:
    return frozenset(day for day in days if not list_worries(standing, day))


def facts_of_run(session: Session, run: ProposalRunRow, today: date) -> Question:
    """The question of a run by the facts of now, over its days and those on which something was placed by hand."""
    days = {*list_days(run.begins_on, run.weeks), *(each.day for row in run.proposals for each in row.held)}
    waiting = [row.premises_id for row in run.proposals if row.visit_id is None]
    return facts_of_question(session, waiting, sorted(days), run.early_days, today)


def facts_of_next_visits(
    session: Session, premises_ids: Iterable[int], until: date, early_days: int, today: date
) -> dict[int, DueVisit]:
    """For some premises the next visit that would serve what falls due up to a day and for so many days after it; how
    late it may be is what the owner set.
    """
    wanted, late_days = set(premises_ids), get_planning_settings(session).late_days
    places = list_due_places(session, until + timedelta(days=early_days + late_days))
    found = {place.premises_id: suggest_visits(place.groups, today, early_days, late_days, place.waiting)
             for place in places if place.premises_id in wanted}  # fmt: skip
    return {place_id: visits[0] for place_id, visits in found.items() if visits}


def facts_of_skills(session: Session, until: Mapping[int, date]) -> dict[int, frozenset[Skill]]:
    """What somebody must be able to test at some premises, by the items that fall due up to a day of each, or that wait
    for a test after a repair.
    """
    # What has no date waits for a test, as what is out of use does: both go with the next visit.
    first = func.min(func.coalesce(ItemRow.next_due_on, date.min))
    query = (
        select(ItemRow.premises_id, ItemRow.supply, ItemRow.kind, ItemRow.state, first)
        .where(ItemRow.premises_id.in_(list(until)), ItemRow.state != ItemState.WITHDRAWN.value)
        .group_by(ItemRow.premises_id, ItemRow.supply, ItemRow.kind, ItemRow.state)
    )
    found: dict[int, set[Skill]] = {place_id: set() for place_id in until}
    for place_id, supply, kind, state, due_on in session.execute(query):
        out_of_use = state == ItemState.OUT_OF_USE
        if not out_of_use and due_on > until[place_id]:
            continue
        if supply == Supply.THREE_PHASE_400 or kind == Kind.THREE_PHASE_LEAD:
            found[place_id].add(Skill.THREE_PHASE)
        if kind == Kind.MICROWAVE_OVEN:
            found[place_id].add(Skill.MICROWAVE)
        if out_of_use:
            found[place_id].add(Skill.AFTER_REPAIR)
    return {place_id: frozenset(skills) for place_id, skills in found.items()}


def list_premises_with_visit(session: Session, premises_ids: Iterable[int]) -> dict[int, VisitRow]:
    """Which of some premises have a visit booked or under way, and the next one of each."""
    query = (
        select(VisitRow)
        .where(VisitRow.premises_id.in_(list(premises_ids)), VisitRow.state.in_(_LIVE))
        .order_by(VisitRow.booked_on.desc(), VisitRow.id.desc())
    )
    return {row.premises_id: row for row in session.scalars(query)}  # the soonest comes last and stays


def _wish(
    row: PremisesRow,
    visit: DueVisit,
    access: AccessTimes,
    rules: BookingRules,
    days: Sequence[date],
    early_days: int,
    paces: Paces,
    skills: Mapping[int, frozenset[Skill]],
) -> Wish:
    holidays = list_bank_holidays(access.region or rules.region, {day.year for day in days})
    dues: dict[date, int] = {}
    for group in visit.groups:
        dues[group.due_on] = dues.get(group.due_on, 0) + group.count
    return Wish(
        row.id,
        row.name,
        total_due_estimate(visit, paces).minutes,
        tuple(sorted(dues.items())),
        access.week or ANY_TIME,
        skills[row.id],
        {day: holidays[day] for day in days if day in holidays},
        visit.first_due_on - timedelta(days=early_days),
        visit.last_due_on,
    )


def _workers(session: Session, days: Sequence[date], rules: BookingRules) -> tuple[Worker, ...]:
    people = list_technicians(session)
    times = facts_of_working_times(session, people, rules)
    holidays = list_bank_holidays(rules.region, {day.year for day in days})
    off = facts_of_days_off(session, days[0], days[-1])
    return tuple(
        Worker(
            row.id,
            row.name,
            times[row.id].week,
            times[row.id].skills,
            list_off(days, row.id, off, holidays),
            None if (most := times[row.id].week_hours_most) is None else most * 60,
            times[row.id].instrument_id,
        )
        for row in people
        if any(times[row.id].week)
    )


def _fixed(session: Session, days: Sequence[date]) -> tuple[Fixed, ...]:
    """What is booked on these days, for as long as it holds technician and instrument."""
    return tuple(
        Fixed(
            row.id,
            row.premises_id,
            row.premises.name,
            held.minutes,
            row.technician_id,
            row.instrument_id,
            held.day,
            held.start,
        )
        for row in list_live_visits(session, days[0], days[-1])
        for held in row.held
        if days[0] <= held.day <= days[-1]
    )
