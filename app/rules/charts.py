"""Where the marks of a drawn history stand: readings over time against their limits. Pages and papers draw it."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from app.rules.chart_words import BOTTOM, HEIGHT, LEFT, NARROW, RIGHT, TOP, WIDTH, Word, list_day_words, list_words
from app.rules.horizons import Horizon
from app.rules.quantities import Reading
from app.rules.reading_histories import ReadingHistory
from app.rules.trends import Trend


@dataclass(frozen=True)
class Mark:
    """One reading: where it stands, how it was judged, what it says. bound is "above" or "below" for one off range."""

    x: float
    y: float
    outcome: str
    bound: str
    label: str


@dataclass(frozen=True)
class TimeChart:
    """A history ready to draw. limit is a line of (x, y) steps; rows are the table behind the picture, with a
    note for some. trend is the
    robust line and band the range of its interval, both on to the horizon, which stands at next_x. changes are upright
    lines with what they say: a repair, another instrument. words are those that have room. narrow is the same drawing
    for a telephone.
    """

    title: str
    sentence: str
    unit: str
    marks: tuple[Mark, ...]
    limit: tuple[tuple[float, float], ...]
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]
    rows: tuple[tuple[str, str, str, str], ...]
    row_notes: tuple[str, ...] = ()
    trend: tuple[tuple[float, float], ...] = ()
    band: tuple[tuple[float, float], ...] = ()
    next_x: float | None = None
    changes: tuple[tuple[float, str], ...] = ()
    words: tuple[Word, ...] = ()
    warning: bool = False
    width: int = WIDTH
    height: int = HEIGHT
    narrow: "TimeChart | None" = None


@dataclass(frozen=True)
class Point:
    """One reading of a history. limit is None where none held; texts are ready to print; change says what happened to
    the item or the instrument since the reading before.
    """

    on: date
    value: Decimal
    limit: Decimal | None
    outcome: str
    bound: str
    reading_text: str
    limit_text: str
    change: str = ""


def list_points(history: ReadingHistory) -> tuple[Point, ...]:
    """List the readings of a history as points, in the unit of its limit."""
    before = None
    points = []
    for each in history.past:
        reading = Reading(each.value, history.unit, each.bound)
        changed = before is not None and before.instrument != each.instrument
        change = "repaired" if each.repaired else "other instrument" if changed else ""
        bound = "" if each.exact else each.bound.value
        points.append(
            Point(each.on, each.value, each.limit, each.outcome, bound, reading.text, each.limit_text, change)
        )
        before = each
    return tuple(points)


def describe_time_chart(
    title: str,
    sentence: str,
    unit: str,
    points: Sequence[Point],
    *,
    by_powers: bool = False,
    trend: Trend | None = None,
    horizon: Horizon | None = None,
    warning: bool = False,
    width: int = WIDTH,
) -> TimeChart:
    """Describe a drawing: where each point stands. by_powers spaces the scale by powers of ten, for readings that range
    widely. With a trend the drawing goes on to the horizon, where that is later than the readings.
    """
    values = [float(point.value) for point in points]
    limits = [float(point.limit) for point in points if point.limit is not None]
    lowest, highest = _range([*values, *limits], by_powers)
    first, last = points[0].on, points[-1].on
    ahead = horizon is not None and trend is not None and horizon.on > last
    if ahead and horizon is not None:
        last = horizon.on
    days = max((last - first).days, 1)

    def across(day: date) -> float:
        share = (day - first).days / days if last > first else 0.5
        return round(LEFT + share * (width - LEFT - RIGHT), 1)

    def up(value: float) -> float:
        if by_powers:
            share = (math.log10(max(value, lowest)) - math.log10(lowest)) / (math.log10(highest) - math.log10(lowest))
        else:
            share = (value - lowest) / (highest - lowest)
        # What lies beyond the drawing is at its edge.
        return round(HEIGHT - BOTTOM - min(max(share, 0.0), 1.0) * (HEIGHT - TOP - BOTTOM), 1)

    marks = tuple(
        Mark(
            across(point.on),
            up(float(point.value)),
            point.outcome,
            point.bound,
            f"{point.on:%d %b %Y}: {point.reading_text}",
        )
        for point in points
    )
    line = _steps([(across(point.on), up(float(point.limit))) for point in points if point.limit is not None], width)
    ticks = _powers(lowest, highest) if by_powers else _even(highest)
    along = _along(trend, last)
    ends = [(day, trend.range_on(day)) for day in along] if trend else []
    band = [*((day, low) for day, (low, _) in ends), *((day, high) for day, (_, high) in reversed(ends))]
    drawn = _until_the_edge([(across(day), up(float(trend.value_on(day)))) for day in along]) if trend else ()
    next_x = across(last) if ahead else None
    changes = _changes(points, across)
    upright = [(next_x, horizon.mark)] if next_x is not None and horizon is not None else []
    return TimeChart(
        title=title,
        sentence=sentence,
        unit=unit,
        marks=marks,
        limit=line,
        across=list_day_words([first, points[len(points) // 2].on, last], across),
        up=tuple((up(tick), f"{tick:.6g}") for tick in ticks),
        rows=tuple((f"{p.on.day} {p.on:%B %Y}", p.reading_text, p.limit_text, p.outcome) for p in reversed(points)),
        row_notes=tuple(point.change for point in reversed(points)),
        trend=drawn,
        band=tuple((across(day), up(float(value))) for day, value in band),
        next_x=next_x,
        changes=changes,
        words=list_words([*upright, *changes], line, [(mark.x, mark.y) for mark in marks], drawn, width),
        warning=warning,
        width=width,
    )


def describe_both_widths(draw: Callable[[int], TimeChart]) -> TimeChart:
    """Describe a drawing for a wide place, with the one for a telephone beside it."""
    return replace(draw(WIDTH), narrow=draw(NARROW))


def _changes(points: Sequence[Point], across: Callable[[date], float]) -> tuple[tuple[float, str], ...]:
    """A line before the reading that came after a change; at the reading where both are of one day."""
    found = []
    for before, point in zip(points, points[1:], strict=False):
        if point.change:
            x = (across(before.on) + across(point.on)) / 2 if before.on != point.on else across(point.on)
            found.append((round(x, 1), point.change))
    return tuple(found)


def _steps(places: Sequence[tuple[float, float]], width: int) -> tuple[tuple[float, float], ...]:
    """A limit holds until the reading that another was used for: a line that goes level and upright only."""
    if not places:
        return ()
    line = [(float(LEFT), places[0][1])]
    for x, y in places:
        if y != line[-1][1]:
            line += [(x, line[-1][1]), (x, y)]
    return (*line, (float(width - RIGHT), line[-1][1]))


def _until_the_edge(line: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """A line as far as it lies within the drawing: what follows its end on an edge would be read as a value."""
    edges = (float(TOP), float(HEIGHT - BOTTOM))
    inside = [place for place, (_, y) in enumerate(line) if y not in edges]
    if not inside:
        return tuple(line)
    return tuple(line[max(inside[0] - 1, 0) : inside[-1] + 2])


def _along(trend: Trend | None, last: date) -> list[date]:
    """Days along a trend, close enough that it is drawn well on either scale."""
    if trend is None:
        return []
    steps = 60
    return [trend.first_on + timedelta(days=(last - trend.first_on).days * step // steps) for step in range(steps + 1)]


def _range(values: Sequence[float], by_powers: bool) -> tuple[float, float]:
    if by_powers:
        positive = [value for value in values if value > 0] or [1.0]
        lowest = 10 ** math.floor(math.log10(min(positive)))
        highest = 10 ** math.ceil(math.log10(max(positive)))
        return lowest, highest if highest > lowest else lowest * 10
    highest = max(values, default=1.0) or 1.0
    step = _step(highest)
    return 0.0, math.ceil(highest * 1.05 / step) * step


def _step(highest: float) -> float:
    """The distance of the lines: 1, 2 or 5 times a power of ten, so that there are about four."""
    rough = highest / 4
    power = 10.0 ** math.floor(math.log10(rough))
    return next(times * power for times in (1, 2, 5, 10) if times * power >= rough)


def _even(highest: float) -> list[float]:
    step = _step(highest / 1.05)
    return [step * place for place in range(round(highest / step) + 1)]


def _powers(lowest: float, highest: float) -> list[float]:
    return [10.0**power for power in range(round(math.log10(lowest)), round(math.log10(highest)) + 1)]
