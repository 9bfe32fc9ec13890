"""Keeping what booking proposals rest on: working times, days off, access and travel times, the booking rules."""

from app.actions.deeds import Deed, check_version, say_day
from app.rules.travel import check_point
from app.rules.verdicts import Mistakes
from app.rules.working_times import (
    AccessTimes,
    BookingRules,
    DayOff,
    WorkingTimes,
    check_booking_rules,
    check_day_off,
    describe_week,
)
from app.store.instruments import get_instrument
from app.store.people import get_person
from app.store.premises import get_premises
from app.store.working_times import (
    AccessTimesRow,
    BookingRulesRow,
    DayOffRow,
    TravelTimeRow,
    WorkingTimesRow,
    find_access_times,
    find_booking_rules,
    find_travel_time,
    find_working_times,
    get_day_off,
    get_travel_time,
    remove_day_off,
    remove_travel_time,
)

MINUTES_MOST = 600


def set_working_times(deed: Deed, person_id: int, times: WorkingTimes, version: int | None = None) -> None:
    """Say when somebody works and what they can test. Raises Mistakes."""
    person = get_person(deed.session, person_id)
    if times.week_hours_most is not None and not 1 <= times.week_hours_most <= 80:
        raise Mistakes({"week_hours_most": "Give a number of hours from 1 to 80."})
    if times.instrument_id is not None:
        get_instrument(deed.session, times.instrument_id)
    row = find_working_times(deed.session, person.id)
    if row is None:
        row = WorkingTimesRow(person_id=person.id, hours={}, skills=[])
        deed.session.add(row)
    else:
        check_version(row, version, "these working times")
    row.hours, row.skills = describe_week(times.week), sorted(skill.value for skill in times.skills)
    row.week_hours_most, row.instrument_id = times.week_hours_most, times.instrument_id
    deed.session.flush()
    deed.note("person", person.id, f"Set the working times of {person.name}.")


def give_day_off(deed: Deed, day: DayOff) -> DayOffRow:
    """Note days off of a person or of the whole firm. What is booked on them stays, and is shown. Raises Mistakes."""
    if mistakes := check_day_off(day):
        raise Mistakes(mistakes)
    who = get_person(deed.session, day.person_id).name if day.person_id is not None else "The firm"
    row = DayOffRow(person_id=day.person_id, first_on=day.first_on, last_on=day.last_on, reason=day.reason)
    deed.session.add(row)
    deed.session.flush()
    span = say_day(day.first_on) + (f" to {say_day(day.last_on)}" if day.last_on != day.first_on else "")
    deed.note(*_subject(day.person_id), f"{who} does not work on {span}{f': {day.reason}' if day.reason else ''}.")
    return row


def take_back_day_off(deed: Deed, day_off_id: int) -> int | None:
    """Take days off back; gives the id of the person, nothing for the whole firm."""
    row = get_day_off(deed.session, day_off_id)
    person_id, first_on = row.person_id, row.first_on
    remove_day_off(deed.session, row)
    who = get_person(deed.session, person_id).name if person_id is not None else "The firm"
    deed.note(*_subject(person_id), f"{who} works again from {say_day(first_on)} on.")
    return person_id


def set_access_times(deed: Deed, premises_id: int, times: AccessTimes, version: int | None = None) -> None:
    """Say when premises can be entered, where they are and whose bank holidays they keep. Raises Mistakes."""
    premises = get_premises(deed.session, premises_id)
    point = times.point
    if point is not None and (mistakes := check_point(point.latitude, point.longitude)):
        raise Mistakes(mistakes)
    row = find_access_times(deed.session, premises.id)
    if row is None:
        row = AccessTimesRow(premises_id=premises.id, region="")
        deed.session.add(row)
    else:
        check_version(row, version, "these access times")
    row.hours = None if times.week is None else describe_week(times.week)
    row.latitude, row.longitude = (point.latitude, point.longitude) if point is not None else (None, None)
    row.region = times.region.value if times.region is not None else ""
    deed.session.flush()
    deed.note("premises", premises.id, f"Set when {premises.name} can be entered, and where it is.")


def set_travel_time(deed: Deed, premises_id: int, other_id: int | None, minutes: int) -> TravelTimeRow:
    """Type the time between two premises, or from the firm with other_id None; it counts before any estimate.

    Raises Mistakes.
    """
    premises = get_premises(deed.session, premises_id)
    other = get_premises(deed.session, other_id) if other_id is not None else None
    if premises_id == other_id:
        raise Mistakes({"other_id": "Choose other premises."})
    if not 0 <= minutes <= MINUTES_MOST:
        raise Mistakes({"minutes": f"Give minutes from 0 to {MINUTES_MOST}."})
    row = find_travel_time(deed.session, premises_id, other_id)
    if row is None:
        low, high = (premises_id, other_id) if other_id is None else sorted((premises_id, other_id))
        row = TravelTimeRow(premises_id=low, other_id=high, minutes=minutes)
        deed.session.add(row)
    row.minutes = minutes
    deed.session.flush()
    way = f"from {other.name}" if other is not None else "from the firm"
    deed.note("premises", premises.id, f"Set the way {way} to {premises.name} to {minutes} minutes.")
    return row


def forget_travel_time(deed: Deed, premises_id: int, travel_time_id: int) -> None:
    """Remove a typed time, so that the estimate holds again."""
    row = get_travel_time(deed.session, premises_id, travel_time_id)
    way = f"between {row.premises.name} and {row.other.name if row.other is not None else 'the firm'}"
    remove_travel_time(deed.session, row)
    deed.note("premises", premises_id, f"Removed the typed time {way}.")


def set_booking_rules(deed: Deed, rules: BookingRules, version: int | None = None) -> None:
    """Choose what proposals rest on. Raises Mistakes."""
    if mistakes := check_booking_rules(rules):
        raise Mistakes(mistakes)
    row = find_booking_rules(deed.session)
    if row is None:
        row = BookingRulesRow(id=1)
        deed.session.add(row)
    else:
        check_version(row, version, "the booking rules")
    row.latitude, row.longitude = (rules.point.latitude, rules.point.longitude) if rules.point else (None, None)
    row.road_factor, row.speed_mph = rules.pace.road_factor, rules.pace.speed_mph
    row.unknown_minutes, row.region = rules.pace.unknown_minutes, rules.region.value
    row.hours, row.free_percent = describe_week(rules.week), rules.free_percent
    deed.session.flush()
    deed.note("booking rules", 1, "Changed the booking rules.")


def _subject(person_id: int | None) -> tuple[str, int]:
    return ("person", person_id) if person_id is not None else ("booking rules", 1)
