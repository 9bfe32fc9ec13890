"""The planner: which days it shows, what stands in each place of it, and where something from the pool can begin."""

import calendar
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from app.rules.bookings import DAY_BEGINS, Held, list_clashes, list_hour_warnings, next_free_start, total_load


class View(StrEnum):
    WEEK = "week"
    MONTH = "month"


@dataclass(frozen=True)
class Hours:
    """One person's day: the working hours in minutes after midnight, None for none; closed: why nobody works."""

    span: tuple[int, int] | None
    closed: str = ""


@dataclass(frozen=True)
class Span:
    """The days that are shown, whole weeks, and the first days of what comes before and after."""

    first: date
    last: date
    before: date
    after: date
    weeks: tuple[tuple[date, ...], ...]
    title: str


@dataclass(frozen=True)
class Choice:
    """Where something can begin: the instrument, and the minute after midnight."""

    instrument_id: int
    start: int


@dataclass(frozen=True)
class DayWords:
    """What is said of one person's day: the minutes that are booked, and what is unusual about them."""

    load: int
    warnings: tuple[str, ...] = ()
    of_visits: Mapping[int, tuple[str, ...]] = field(default_factory=dict)


def list_shown_days(view: View, day: date) -> Span:
    """List the days of the week or of the month that a day is in, Monday first; a month in whole weeks."""
    monday = day - timedelta(days=day.weekday())
    if view == View.WEEK:
        week = tuple(monday + timedelta(days=number) for number in range(7))
        last = week[6]
        same = monday.month == last.month
        begins = (
            f"{monday.day}"
            if same
            else f"{monday.day} {monday:%B}" + ("" if monday.year == last.year else f" {monday.year}")
        )
        title = f"{begins} to {last.day} {last:%B %Y}"
        return Span(monday, last, monday - timedelta(days=7), monday + timedelta(days=7), (week,), title)
    weeks = tuple(tuple(week) for week in calendar.Calendar(0).monthdatescalendar(day.year, day.month))
    first = day.replace(day=1)
    before = (first - timedelta(days=1)).replace(day=1)
    after = (first + timedelta(days=31)).replace(day=1)
    return Span(weeks[0][0], weeks[-1][-1], before, after, weeks, f"{day:%B %Y}")


def describe_day(held: Sequence[Held], technician_id: int, hours: Hours) -> DayWords:
    """Describe one person's day: what is booked, and what is only warned of. held: everybody's visits of that day."""
    mine = [each for each in held if each.technician_id == technician_id]
    load = total_load(mine, technician_id)
    said = {each.visit_id: list_hour_warnings(each.start, each.length, hours.span, hours.closed) for each in mine}
    for each in mine:
        stands = tuple(clash.sentence for clash in list_clashes(each, held))  # only of before times were held
        said[each.visit_id] = said[each.visit_id] + stands
    over = hours.span is not None and load > hours.span[1] - hours.span[0]
    return DayWords(load, ("More than the working hours.",) if over else (), said)


def suggest_start(wish: Held, instruments: Sequence[int], held: Sequence[Held], hours: Hours) -> Choice | None:
    """Suggest the earliest start on a day, and the instrument for it: of equals the first of instruments."""
    earliest = hours.span[0] if hours.span else DAY_BEGINS
    best: Choice | None = None
    for instrument_id in instruments:
        asked = Held(
            wish.visit_id, None, wish.minutes, wish.technician_id, wish.technician, instrument_id, "", wish.place
        )
        start = next_free_start(asked, held, earliest)
        if start is not None and (best is None or start < best.start):
            best = Choice(instrument_id, start)
    return best
