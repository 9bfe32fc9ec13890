"""Booking proposals: the question, what a visit on a day costs, and the routes of people's days.

Times are minutes after midnight. Everything that costs is counted in minutes of travel: a day that is late, a day of
interval given up, one more person setting out. The weights are ours; they say that late is worse than early, and that
nothing is worse than leaving a visit out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

from app.rules.travel import BASE, STEP
from app.rules.working_times import Skill, Week

EARLY_A_DAY = 2
LATE_A_DAY = 10
LATE_AT_ALL = 30
SETTING_OUT = 15
LEFT_OUT = 20_000


@dataclass(frozen=True)
class Worker:
    """Somebody who can be sent. off: the days on which they do not work, with the reason."""

    id: int
    name: str
    week: Week
    skills: frozenset[Skill]
    off: Mapping[date, str] = field(default_factory=dict)
    week_minutes_most: int | None = None
    instrument_id: int | None = None


@dataclass(frozen=True)
class Wish:
    """A visit to be placed. dues: on which day how many items fall due; closed: days on which nobody is let in.

    due_until: it serves what falls due up to that day.
    """

    place_id: int
    name: str
    minutes: int
    dues: tuple[tuple[date, int], ...]
    week: Week
    skills: frozenset[Skill] = frozenset()
    closed: Mapping[date, str] = field(default_factory=dict)
    earliest: date = date.min
    due_until: date | None = None

    @property
    def items(self) -> int:
        return sum(count for _, count in self.dues)

    @property
    def due_on(self) -> date:
        return self.dues[0][0]


@dataclass(frozen=True)
class Fixed:
    """A visit that is booked already. start is None where only its day is agreed."""

    visit_id: int
    place_id: int
    name: str
    minutes: int
    worker_id: int
    instrument_id: int
    day: date
    start: int | None = None


@dataclass(frozen=True)
class Instrument:
    """An instrument and the days of the question on which it is fit for use."""

    id: int
    name: str
    fit: frozenset[date]


@dataclass(frozen=True)
class Question:
    """What is to be placed, on which days, by whom, with what. travel: minutes between two places, both ways."""

    days: tuple[date, ...]
    wishes: tuple[Wish, ...]
    workers: tuple[Worker, ...]
    instruments: tuple[Instrument, ...]
    fixed: tuple[Fixed, ...]
    travel: Mapping[tuple[int, int], int]
    free_percent: int = 15

    @cached_property
    def fixed_by_day(self) -> dict[tuple[int, date], tuple[Fixed, ...]]:
        found: dict[tuple[int, date], tuple[Fixed, ...]] = {}
        for each in sorted(self.fixed, key=lambda fixed: (fixed.start is None, fixed.start or 0, fixed.visit_id)):
            found[each.worker_id, each.day] = (*found.get((each.worker_id, each.day), ()), each)
        return found

    @cached_property
    def holders(self) -> dict[date, dict[int, int]]:
        """By day: who has which fit instrument on that day through what is booked."""
        fit = {instrument.id: instrument.fit for instrument in self.instruments}
        found: dict[date, dict[int, int]] = {}
        for each in self.fixed:
            if each.day in fit.get(each.instrument_id, frozenset()):
                found.setdefault(each.day, {}).setdefault(each.worker_id, each.instrument_id)
        return found

    @cached_property
    def free_instruments(self) -> dict[date, list[int]]:
        """By day: the instruments that are fit and in nobody's hands through what is booked."""
        taken = {(each.day, each.instrument_id) for each in self.fixed}
        return {
            day: [
                instrument.id
                for instrument in self.instruments
                if day in instrument.fit and (day, instrument.id) not in taken
            ]
            for day in self.days
        }


Part = Wish | Fixed


@dataclass(frozen=True)
class Timed:
    """One part of a route with its beginning and the travel before it."""

    part: Part
    start: int
    travel: int


@dataclass(frozen=True)
class Route:
    """The day of one person, in its order. home: travel back at the end; busy: minutes with all travel."""

    worker: Worker
    day: date
    parts: tuple[Timed, ...] = ()
    home: int = 0

    @property
    def travel(self) -> int:
        return sum(each.travel for each in self.parts) + self.home

    @property
    def busy(self) -> int:
        return self.travel + sum(each.part.minutes for each in self.parts)

    @property
    def order(self) -> tuple[Part, ...]:
        return tuple(each.part for each in self.parts)

    @property
    def wishes(self) -> tuple[Timed, ...]:
        return tuple(each for each in self.parts if isinstance(each.part, Wish))

    @property
    def week(self) -> date:
        return self.day - timedelta(days=self.day.weekday())


def number_route(question: Question, worker: Worker, day: date, order: Sequence[Part]) -> Route | None:
    """Give the times of a day in an order, each visit as early as can be; nothing where the order breaks a rule."""
    hours = None if day in worker.off else worker.week[day.weekday()]
    has_wish = any(isinstance(part, Wish) for part in order)
    if hours is None:
        return None
    clock, at, parts = hours[0], BASE, []
    for part in order:
        travel = question.travel[at, part.place_id]
        start = clock + travel
        if isinstance(part, Fixed):
            if part.start is not None:
                if start > part.start:
                    return None
                start = part.start
        else:
            open_for = number_open(part, worker, day)
            if open_for is None:
                return None
            start = max(-(-start // STEP) * STEP, open_for[0])
            if start + part.minutes > open_for[1]:
                return None
        parts.append(Timed(part, start, travel))
        clock, at = start + part.minutes, part.place_id
    home = question.travel[at, BASE]
    route = Route(worker, day, tuple(parts), home)
    most = (hours[1] - hours[0]) * (100 - question.free_percent) // 100
    if clock + home > hours[1] or (has_wish and route.busy > most):
        return None
    return route


def number_fixed_route(question: Question, worker: Worker, day: date) -> Route | None:
    """Give the times of what is booked for a day; nothing where the person does not work then or it cannot all be kept.

    Visits without a time go where they add the least travel.
    """
    route = number_route(question, worker, day, ())
    for part in question.fixed_by_day.get((worker.id, day), ()):
        if route is None:
            return None
        order = route.order
        tried = (number_route(question, worker, day, (*order[:at], part, *order[at:])) for at in range(len(order) + 1))
        route = min((each for each in tried if each), key=lambda each: each.travel, default=None)
    return route


def number_open(wish: Wish, worker: Worker, day: date) -> tuple[int, int] | None:
    """Between which minutes a visit can take place on a day, if this person can make it then at all."""
    if day < wish.earliest or day in wish.closed or not wish.skills <= worker.skills:
        return None
    return wish.week[day.weekday()]


def number_day_cost(wish: Wish, day: date, first: date) -> int:
    """What it costs to make a visit on a day: days late and days of interval given up, as a mean over its items.

    What is overdue before the first day of the question cannot be helped, but presses: each month of it makes a further
    day of waiting dearer.
    """
    late = early = 0
    for due, count in wish.dues:
        if day > due:
            pressing = min(20, max(0, (first - due).days) // 30 * 2)
            late += count * ((day - max(due, first)).days * (LATE_A_DAY + pressing) + LATE_AT_ALL)
        else:
            early += count * (due - day).days * EARLY_A_DAY
    return (late + early) // wish.items


def number_route_cost(route: Route | None, first: date) -> int:
    """What the day of one person costs, by what is proposed on it. A day with bookings only counts its travel."""
    if route is None or not route.parts:
        return 0
    out = SETTING_OUT if len(route.wishes) == len(route.parts) else 0
    wishes = (each.part for each in route.wishes)
    return (
        route.travel + out + sum(number_day_cost(part, route.day, first) for part in wishes if isinstance(part, Wish))
    )


def number_left_out(wish: Wish, last: date) -> int:
    """What it costs to leave a visit out: more than any day would, and most for what is overdue longest."""
    return LEFT_OUT + sum(max(0, (last - due).days) * count for due, count in wish.dues) * LATE_A_DAY // wish.items


def total_cost(question: Question, routes: Sequence[Route]) -> int:
    """What a whole answer costs; less is better."""
    placed = {each.part.place_id for route in routes for each in route.wishes}
    left = (wish for wish in question.wishes if wish.place_id not in placed)
    return sum(number_route_cost(route, question.days[0]) for route in routes) + sum(
        number_left_out(wish, question.days[-1]) for wish in left
    )


def list_days(begins_on: date, weeks: int) -> tuple[date, ...]:
    """List the days of some weeks from a day on."""
    return tuple(begins_on + timedelta(days=number) for number in range(7 * weeks))
