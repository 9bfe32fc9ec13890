"""A visit that is longer than a working day: which days it holds, and how much of each.

It takes the first day and then the days on which its technician works, one after the other. Times are minutes after
midnight. Minutes are in steps of five.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from app.rules.bookings import DAY_BEGINS, DAY_ENDS, STEP

#: The most days that one visit takes, and within how many days of the calendar they must lie (ours).
DAYS_MOST, SPAN_MOST = 20, 60

Span = tuple[int, int]


@dataclass(frozen=True)
class HeldDay:
    """What a visit holds of one day. start None: its day is agreed, but no time."""

    day: date
    start: int | None
    minutes: int


def list_held_days(
    first: date, start: int | None, minutes: int, hours: Mapping[date, Span | None], asked: int | None = None
) -> tuple[HeldDay, ...]:
    """List what a visit holds of each of its days; nothing where there are too few days for it.

    hours: the working hours of each day from the first on, None where the technician does not work. asked: on how many
    days somebody spreads it, in equal parts. Else it takes one day, unless it is longer than that day's working hours;
    then each day is filled, from start on at the earliest.
    """
    own = hours.get(first) or (DAY_BEGINS, DAY_ENDS)
    if asked == 1 or (asked is None and minutes <= own[1] - own[0]):
        return (HeldDay(first, start, minutes),)
    begins = own[0] if start is None else start
    working = [(first, own)] + [(day, span) for day, span in sorted(hours.items()) if span is not None and day > first]
    if asked is not None:
        return _shared(begins, minutes, working[:asked]) if len(working) >= asked else ()
    found: list[HeldDay] = []
    left = minutes
    for day, span in working[:DAYS_MOST]:
        at = max(begins, span[0])
        if (room := span[1] - at) <= 0:
            return ()
        found.append(HeldDay(day, at, min(room, left)))
        left -= found[-1].minutes
        if left <= 0:
            return tuple(found)
    return ()


def convert_held_days(days: Sequence[HeldDay]) -> list[dict[str, str]]:
    """Give held days in the form in which they are kept."""
    return [
        {
            "day": each.day.isoformat(),
            "start": "" if each.start is None else str(each.start),
            "minutes": str(each.minutes),
        }
        for each in days
    ]


def parse_held_days(told: Sequence[Mapping[str, str]]) -> tuple[HeldDay, ...]:
    """Read held days from the form in which they are kept."""
    return tuple(
        HeldDay(date.fromisoformat(each["day"]), int(each["start"]) if each["start"] else None, int(each["minutes"]))
        for each in told
    )


def number_share(minutes: int, days: int) -> int:
    """How many minutes each day has when a visit is spread on some days in equal parts; the last has what is left."""
    return -(-minutes // (days * STEP)) * STEP


def describe_days(days: Sequence[date]) -> str:
    """Write on which days a visit is held: 'Mon 9 to Fri 13 March 2026'; with their number where others lie between."""
    first, last = days[0], days[-1]
    begins = f"{first:%a} {first.day}"
    if (first.year, first.month) != (last.year, last.month):
        begins += f" {first:%B}" + (f" {first.year}" if first.year != last.year else "")
    told = f"{begins} to {last:%a} {last.day} {last:%B %Y}"
    return told if (last - first).days + 1 == len(days) else f"{told}, {len(days)} days"


def _shared(begins: int, minutes: int, working: Sequence[tuple[date, Span]]) -> tuple[HeldDay, ...]:
    share, left, found = number_share(minutes, len(working)), minutes, []
    for day, span in working:
        found.append(HeldDay(day, max(begins, span[0]), max(STEP, min(share, left))))
        left -= share
    return tuple(found)
