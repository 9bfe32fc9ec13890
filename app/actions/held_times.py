"""Holding a technician and an instrument for a visit, so that neither is in two places at once."""

from datetime import date
from typing import Any

from app.actions.deeds import Deed
from app.rules.bookings import Held, check_booked_time, convert_clock, describe_time, list_clashes, next_free_start
from app.rules.paces import check_minutes
from app.rules.verdicts import Mistakes
from app.rules.visits import Booking
from app.store.paces import facts_of_estimate
from app.store.visits import VisitRow, list_held_locked

Columns = dict[str, Any]


def hold_time(deed: Deed, booking: Booking, row: VisitRow | None = None) -> Columns:
    """Give the columns that hold a booking's time, or raise Mistakes that name what stands in the way.

    The length is the one typed, else the estimate; nobody else can book the two meanwhile, on either database.
    """
    if sentence := check_minutes(booking.minutes):
        raise Mistakes({"minutes": sentence})
    by_hand = booking.minutes is not None
    minutes = booking.minutes or _estimated(deed, booking, row)
    start = convert_clock(booking.booked_time)
    if sentence := check_booked_time(start, minutes):
        raise Mistakes({"booked_time": sentence})
    others = list_held_locked(deed.session, booking.booked_on, booking.technician_id, booking.instrument_id)
    wish = Held(
        row.id if row is not None else 0, start, minutes, booking.technician_id, "", booking.instrument_id, "", ""
    )
    if clashes := list_clashes(wish, others):
        said: dict[str, str] = {}
        for clash in clashes:
            said[clash.field] = f"{said[clash.field]} {clash.sentence}" if clash.field in said else clash.sentence
        said["booked_time"] = _free(wish, others, booking.booked_on)
        raise Mistakes(said)
    return {"minutes": minutes, "minutes_by_hand": by_hand, "booking_changed_at": deed.now}


def _estimated(deed: Deed, booking: Booking, row: VisitRow | None) -> int:
    """The estimate, cut where it would run past midnight: a visit holds one day."""
    same = row is not None and row.premises_id == booking.premises_id and row.due_until == booking.due_until
    if row is not None and same and row.minutes and not row.minutes_by_hand:
        minutes = row.minutes  # what was held stays held: a move does not change how long the work is
    else:
        minutes = facts_of_estimate(deed.session, booking.premises_id, booking.due_until).minutes
    start = convert_clock(booking.booked_time)
    return min(minutes, 24 * 60 - (start or 0))


def _free(wish: Held, others: list[Held], day: date) -> str:
    start = next_free_start(wish, others)
    if start is None:
        return f"Both are not free together on {day.day} {day:%B} for as long as this takes."
    return f"Both are free from {describe_time(start)}."
