"""Planning: moving a visit, booking what waits in the pool, and putting something into the pool or out of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time

from app.actions.deeds import Deed, check_version, say_day
from app.actions.held_times import spread_over_days
from app.actions.visits import book_visit, cancel_visit, change_booking
from app.rules.bookings import DAY_BEGINS, DAY_MINUTES, Held, list_clashes, parse_start
from app.rules.held_days import HeldDay
from app.rules.paces import check_minutes
from app.rules.planners import suggest_start
from app.rules.repeats import WantedState
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking, VisitState
from app.store.paces import facts_of_estimate
from app.store.people import get_person
from app.store.planners import facts_of_hours, list_instruments_for
from app.store.premises import get_premises
from app.store.visits import VisitRow, get_visit, list_held
from app.store.wanted_visits import WantedVisitRow, find_wanted_of_visit, get_wanted_visit

NOTE_MOST = 2000


@dataclass(frozen=True)
class Place:
    """Where something is put on the planner. time, instrument_id and minutes None: what is free, what it needs.

    due_until: what is booked is made for what falls due up to that day, whatever waited in the pool was made for. days:
    on how many it is spread; None: on as many as it needs.
    """

    day: date
    technician_id: int
    start: time | None = None
    instrument_id: int | None = None
    minutes: int | None = None
    due_until: date | None = None
    days: int | None = None


def move_visit(deed: Deed, visit_id: int, place: Place, version: int | None = None) -> VisitRow:
    """Move a booked visit to a day and a technician; its time, length and instrument stay unless they are given.

    Raises Mistakes that name what stands in the way.
    """
    row = get_visit(deed.session, visit_id)
    if row.state != VisitState.BOOKED:
        raise Refused("Only a visit that has not started can be moved.")
    booking = Booking(
        row.premises_id,
        place.technician_id,
        place.instrument_id or row.instrument_id,
        place.day,
        place.start or row.booked_time,
        row.note,
        place.minutes or (row.minutes if row.minutes_by_hand else None),
        row.due_until,
        place.days or row.days_asked,
    )
    return change_booking(deed, visit_id, booking, version)


def book_from_pool(deed: Deed, premises_id: int, place: Place, wanted_id: int | None = None) -> VisitRow:
    """Book what waits: at the first time that is free, with an instrument that is fit and free, unless they are given.

    Raises Mistakes.
    """
    wanted = _waiting(deed, wanted_id, premises_id) if wanted_id is not None else None
    due_until = place.due_until or (wanted.due_until if wanted else None)
    kept = wanted if wanted is not None and wanted.due_until == due_until else None
    minutes = place.minutes or (kept.minutes if kept else None)
    start, instrument_id = place.start, place.instrument_id
    if start is None or instrument_id is None:
        start, instrument_id = _chosen(deed, premises_id, place, minutes, due_until)
    note = wanted.note if wanted else ""
    booking = Booking(
        premises_id, place.technician_id, instrument_id, place.day, start, note, minutes, due_until, place.days
    )
    row = book_visit(deed, booking)
    if wanted is not None:
        wanted.state, wanted.visit_id = WantedState.BOOKED.value, row.id
        deed.session.flush()
    return row


def want_visit(
    deed: Deed,
    premises_id: int,
    wanted_on: date | None = None,
    minutes: int | None = None,
    note: str = "",
    due_until: date | None = None,
) -> WantedVisitRow:
    """Put a visit into the pool, to be booked later. Raises Mistakes."""
    premises = get_premises(deed.session, premises_id)
    if sentence := check_minutes(minutes):
        raise Mistakes({"minutes": sentence})
    row = WantedVisitRow(
        premises_id=premises.id,
        wanted_on=wanted_on,
        minutes=minutes,
        due_until=due_until,
        note=note.strip(),
        made_at=deed.now,
    )
    deed.session.add(row)
    deed.session.flush()
    when = f" for about {say_day(wanted_on)}" if wanted_on else ""
    deed.note("premises", premises.id, f"Put a visit into the pool{when}.")
    return row


def drop_wanted_visit(deed: Deed, wanted_id: int, reason: str) -> WantedVisitRow:
    """Take a visit out of the pool without booking it. Raises Mistakes without a reason."""
    row = get_wanted_visit(deed.session, wanted_id, locked=True)
    if row.state != WantedState.WAITING:
        raise Refused("This visit is not waiting any more.")
    if not reason.strip():
        raise Mistakes({"reason": "Say why it is dropped."})
    row.state, row.state_reason = WantedState.DROPPED.value, reason.strip()
    deed.session.flush()
    deed.note("premises", row.premises_id, f"Dropped a visit from the pool: {reason.strip()}")
    return row


def unbook_visit(deed: Deed, visit_id: int, version: int | None = None) -> WantedVisitRow:
    """Take a booked visit off the planner and put it back into the pool; the booking is cancelled."""
    visit = get_visit(deed.session, visit_id)
    check_version(visit, version, "this visit")
    if visit.state != VisitState.BOOKED:
        raise Refused("Only a visit that has not started can go back into the pool.")
    cancel_visit(deed, visit_id, "Taken off the planner, to be booked anew.")
    row = find_wanted_of_visit(deed.session, visit.id)
    if row is None:
        minutes = visit.minutes if visit.minutes_by_hand else None
        return want_visit(deed, visit.premises_id, visit.booked_on, minutes, visit.note, visit.due_until)
    row.state, row.visit_id, row.due_until = WantedState.WAITING.value, None, visit.due_until
    deed.session.flush()
    return row


def _waiting(deed: Deed, wanted_id: int, premises_id: int) -> WantedVisitRow:
    row = get_wanted_visit(deed.session, wanted_id, locked=True)
    if row.premises_id != premises_id:
        raise Refused("This visit is wanted at other premises.")
    if row.state != WantedState.WAITING:
        raise Refused("This visit is booked already, or was dropped.")
    return row


def _chosen(
    deed: Deed, premises_id: int, place: Place, minutes: int | None, due_until: date | None
) -> tuple[time, int]:
    """The first time at which technician and instrument are free together, and that instrument.

    What takes several days begins when the working day does, with an instrument that is free on all of them if there is
    one; what stands in the way is said when it is held.
    """
    person = get_person(deed.session, place.technician_id)
    estimate = facts_of_estimate(deed.session, premises_id, due_until).minutes
    instruments = (
        [place.instrument_id]
        if place.instrument_id is not None
        else list_instruments_for(deed.session, person.id, place.day)
    )
    if not instruments:
        raise Mistakes({"instrument_id": f"No instrument is fit for use on {say_day(place.day)}."})
    asked = Booking(premises_id, person.id, instruments[0], place.day, place.start, days_asked=place.days)
    days = spread_over_days(deed, asked, minutes or estimate)
    if len(days) > 1:
        others = list_held(deed.session, days[0].day, days[-1].day)
        free = (each for each in instruments if _is_free(days, each, others))
        return parse_start(days[0].start or 0), next(free, instruments[0])
    length = minutes or min(estimate, DAY_MINUTES - DAY_BEGINS)
    held = list_held(deed.session, place.day).get(place.day, [])
    hours = facts_of_hours(deed.session, [person], [place.day])[person.id, place.day]
    wish = Held(0, None, length, person.id, person.name, 0, "", "")
    if place.start is not None:
        free = (each for each in instruments if _is_free(days, each, {place.day: held}))
        return place.start, next(free, instruments[0])
    chosen = suggest_start(wish, instruments, held, hours)
    if chosen is None:
        raise Mistakes({"day": f"{person.name} is not free for long enough on {say_day(place.day)}."})
    return parse_start(chosen.start), chosen.instrument_id


def _is_free(days: Sequence[HeldDay], instrument_id: int, others: Mapping[date, list[Held]]) -> bool:
    """Whether nobody else has an instrument at the times of some days."""
    wishes = ((each.day, Held(0, each.start, each.minutes, 0, "", instrument_id, "", "")) for each in days)
    return not any(list_clashes(wish, others.get(day, [])) for day, wish in wishes)
