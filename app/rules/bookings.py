"""Who and what is held by a visit and when: nobody and no instrument is in two places at once.

A visit without a time is on its day, but holds no hour of it. Times are minutes after midnight where they are reckoned
with.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import time

from app.rules.paces import describe_duration

#: What is held for a visit that was booked before lengths were kept (minutes; ours).
MINUTES_UNKNOWN = 60
DAY_MINUTES = 24 * 60
#: When a day's first visit begins where nothing else is known, 8:30 (ours).
DAY_BEGINS = 8 * 60 + 30
DAY_ENDS = 17 * 60
#: A visit that is put at the next free time begins on such a minute.
STEP = 5


@dataclass(frozen=True)
class Held:
    """A visit as it holds a technician and an instrument. start None: its day is agreed, but no time."""

    visit_id: int
    start: int | None
    minutes: int | None
    technician_id: int
    technician: str
    instrument_id: int
    instrument: str
    place: str

    @property
    def length(self) -> int:
        return MINUTES_UNKNOWN if self.minutes is None else self.minutes

    @property
    def end(self) -> int | None:
        return None if self.start is None else self.start + self.length


@dataclass(frozen=True)
class Clash:
    """A visit that stands in the way: of the technician or of the instrument, or of both."""

    visit_id: int
    field: str
    sentence: str


def list_clashes(wish: Held, others: Iterable[Held]) -> tuple[Clash, ...]:
    """List what stands in the way of a visit on its day; one that ends as another begins does not."""
    if wish.start is None:
        return ()
    found = []
    for other in others:
        if other.visit_id == wish.visit_id or not _overlap(wish, other):
            continue
        span = f"{describe_time(other.start or 0)} to {describe_time(other.end or 0)} at {other.place}"
        if other.technician_id == wish.technician_id:
            found.append(Clash(other.visit_id, "technician_id", f"{other.technician} is booked from {span}."))
        if other.instrument_id == wish.instrument_id:
            sentence = f"{other.instrument} is booked from {span}, with {other.technician}."
            found.append(Clash(other.visit_id, "instrument_id", sentence))
    return tuple(found)


def check_booked_time(start: int | None, minutes: int) -> str:
    """Say what is wrong with when a visit begins and how long it is, or nothing: it ends by midnight."""
    if start is not None and start + minutes > DAY_MINUTES:
        return f"It would end after midnight: it takes {describe_duration(minutes)}. Spread it on more days."
    return ""


def next_free_start(wish: Held, others: Iterable[Held], earliest: int = DAY_BEGINS) -> int | None:
    """The first time of the day at which nothing stands in the way, from earliest on; nothing where there is none."""
    mine = [
        other
        for other in others
        if other.visit_id != wish.visit_id
        and other.start is not None
        and (other.technician_id == wish.technician_id or other.instrument_id == wish.instrument_id)
    ]
    starts = sorted({earliest, *(_up(other.end or 0) for other in mine if (other.end or 0) > earliest)})
    for start in starts:
        free = all(start >= (other.end or 0) or start + wish.length <= (other.start or 0) for other in mine)
        if free and start + wish.length <= DAY_MINUTES:
            return start
    return None


def list_hour_warnings(
    start: int | None, minutes: int, hours: tuple[int, int] | None, closed: str = "", load: int = 0
) -> tuple[str, ...]:
    """List what is unusual about a visit's hours; it only warns.

    hours: the working hours of that day, None where nobody works; closed: why the day is no working day; load: what the
    technician has on that day altogether, in minutes.
    """
    found = []
    if closed:
        found.append(f"{closed}.")
    elif hours is None:
        found.append("No working day.")
    elif start is not None and (start < hours[0] or start + minutes > hours[1]):
        found.append(f"Outside working hours, {describe_time(hours[0])} to {describe_time(hours[1])}.")
    if hours is not None and load > hours[1] - hours[0]:
        found.append(f"{describe_duration(load)} on this day, more than it has working hours.")
    return tuple(found)


def total_load(day: Sequence[Held], technician_id: int) -> int:
    """Add up the minutes of a technician's visits on a day."""
    return sum(each.length for each in day if each.technician_id == technician_id)


def convert_clock(value: time | None) -> int | None:
    """Give a time of day as minutes after midnight."""
    return None if value is None else value.hour * 60 + value.minute


def parse_start(minutes: int) -> time:
    """Give minutes after midnight as a time of day."""
    return time(minutes // 60, minutes % 60)


def describe_time(minutes: int) -> str:
    """Write minutes after midnight as 08:30; the end of the day as 24:00."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _overlap(one: Held, other: Held) -> bool:
    if one.start is None or other.start is None:
        return False
    return one.start < other.start + other.length and other.start < one.start + one.length


def _up(minutes: int) -> int:
    return -(-minutes // STEP) * STEP
