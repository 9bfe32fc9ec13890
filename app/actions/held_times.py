"""Holding a technician and an instrument for a visit, on one day or several: neither is in two places."""

from datetime import date, timedelta
from typing import Any

from app.actions.deeds import Deed, say_day
from app.rules.bookings import (
    DAY_MINUTES,
    Held,
    check_booked_time,
    convert_clock,
    describe_time,
    list_clashes,
    next_free_start,
    parse_start,
)
from app.rules.held_days import DAYS_MOST, SPAN_MOST, HeldDay, convert_held_days, list_held_days
from app.rules.paces import check_minutes, describe_duration
from app.rules.verdicts import Mistakes
from app.rules.visits import Booking
from app.store.paces import facts_of_estimate
from app.store.people import get_person
from app.store.planners import facts_of_hours
from app.store.visits import VisitRow, list_held_locked

Columns = dict[str, Any]


def hold_time(deed: Deed, booking: Booking, row: VisitRow | None = None) -> Columns:
    """Give the columns that hold a booking's time, or raise Mistakes that name what stands in the way.

    The length is the one typed, else the estimate; nobody else can book the two meanwhile, on either database.
    """
    if sentence := check_minutes(booking.minutes):
        raise Mistakes({"minutes": sentence})
    if booking.days_asked is not None and not 1 <= booking.days_asked <= DAYS_MOST:
        raise Mistakes({"days_asked": f"Give 1 to {DAYS_MOST} days."})
    minutes = booking.minutes or _estimated(deed, booking, row)
    days = spread_over_days(deed, booking, minutes)
    if len(days) == 1 and booking.minutes is None:  # an estimate is cut where it would run past midnight
        (only,) = days
        minutes = min(minutes, DAY_MINUTES - (only.start or 0))
        days = (HeldDay(only.day, only.start, minutes),)
    for each in days:
        if sentence := check_booked_time(each.start, each.minutes):
            raise Mistakes({"booked_time": sentence})
    people = booking.technician_id, booking.instrument_id
    others = list_held_locked(deed.session, days[0].day, days[-1].day, *people)
    said: dict[str, str] = {}
    for each in days:
        wish = Held(row.id if row is not None else 0, each.start, each.minutes, people[0], "", people[1], "", "")
        for clash in list_clashes(wish, others.get(each.day, [])):
            sentence = clash.sentence if len(days) == 1 else f"On {say_day(each.day)}: {clash.sentence}"
            said[clash.field] = f"{said[clash.field]} {sentence}" if clash.field in said else sentence
        if said and len(days) == 1:
            said["booked_time"] = _free(wish, others.get(each.day, []), each.day)
    if said:
        raise Mistakes(said)
    several = len(days) > 1
    return {
        "booked_time": None if days[0].start is None else parse_start(days[0].start),
        "minutes": minutes,
        "minutes_by_hand": booking.minutes is not None,
        "last_on": days[-1].day if several else None,
        "held_days": convert_held_days(days) if several else None,
        "booking_changed_at": deed.now,
    }


def spread_over_days(deed: Deed, booking: Booking, minutes: int) -> tuple[HeldDay, ...]:
    """What a booking of some minutes holds of each of its days. Raises Mistakes where there are too few days for it."""
    person = get_person(deed.session, booking.technician_id)
    dates = [booking.booked_on + timedelta(days=number) for number in range(SPAN_MOST + 1)]
    told = facts_of_hours(deed.session, [person], dates)
    hours = {day: None if told[person.id, day].closed else told[person.id, day].span for day in dates}
    days = list_held_days(booking.booked_on, convert_clock(booking.booked_time), minutes, hours, booking.days_asked)
    if not days:
        field = "booked_time" if booking.days_asked is None and booking.booked_time else "days_asked"
        sentence = (
            f"It takes {describe_duration(minutes)}, for which {person.name} has too few working days from then on."
        )
        raise Mistakes({field: f"{sentence} Begin earlier in the day, give the days, or make two visits of it."})
    return days


def _estimated(deed: Deed, booking: Booking, row: VisitRow | None) -> int:
    same = row is not None and row.premises_id == booking.premises_id and row.due_until == booking.due_until
    if row is not None and same and row.minutes and not row.minutes_by_hand:
        return row.minutes  # what was held stays held: a move does not change how long the work is
    return facts_of_estimate(deed.session, booking.premises_id, booking.due_until).minutes


def _free(wish: Held, others: list[Held], day: date) -> str:
    start = next_free_start(wish, others)
    if start is None:
        return f"Both are not free together on {day.day} {day:%B} for as long as this takes."
    return f"Both are free from {describe_time(start)}."
