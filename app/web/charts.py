"""Where the marks of a drawn history stand: readings over time against their limits. ui/charts.html draws it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

WIDTH, HEIGHT = 640, 240
LEFT, RIGHT, TOP, BOTTOM = 64, 16, 16, 36


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
    """A history ready to draw. limit is a line of (x, y) steps; rows are the table behind the picture."""

    title: str
    sentence: str
    unit: str
    marks: tuple[Mark, ...]
    limit: tuple[tuple[float, float], ...]
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]
    rows: tuple[tuple[str, str, str, str], ...]
    width: int = WIDTH
    height: int = HEIGHT


@dataclass(frozen=True)
class Point:
    """One reading of a history. limit is None where none held; texts are ready to print."""

    on: date
    value: Decimal
    limit: Decimal | None
    outcome: str
    bound: str
    reading_text: str
    limit_text: str


def show_time_chart(
    title: str, sentence: str, unit: str, points: Sequence[Point], *, by_powers: bool = False
) -> TimeChart:
    """Place the points. by_powers spaces the scale by powers of ten, for readings that range widely."""
    values = [float(point.value) for point in points]
    limits = [float(point.limit) for point in points if point.limit is not None]
    lowest, highest = _range([*values, *limits], by_powers)
    first, last = points[0].on, points[-1].on
    days = max((last - first).days, 1)

    def across(day: date) -> float:
        share = (day - first).days / days if last > first else 0.5
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def up(value: float) -> float:
        if by_powers:
            share = (math.log10(max(value, lowest)) - math.log10(lowest)) / (math.log10(highest) - math.log10(lowest))
        else:
            share = (value - lowest) / (highest - lowest)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)

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
    line = [(across(point.on), up(float(point.limit))) for point in points if point.limit is not None]
    if line:
        line = [(float(LEFT), line[0][1]), *line, (float(WIDTH - RIGHT), line[-1][1])]
    ticks = _powers(lowest, highest) if by_powers else _even(highest)
    years = list(dict.fromkeys((first, points[len(points) // 2].on, last)))
    return TimeChart(
        title=title,
        sentence=sentence,
        unit=unit,
        marks=marks,
        limit=tuple(line),
        across=tuple((across(day), f"{day:%b %Y}") for day in years),
        up=tuple((up(tick), f"{tick:.6g}") for tick in ticks),
        rows=tuple((f"{p.on.day} {p.on:%B %Y}", p.reading_text, p.limit_text, p.outcome) for p in reversed(points)),
    )


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
