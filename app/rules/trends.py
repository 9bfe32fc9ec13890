"""How a reading moves from visit to visit: a robust line through its history (Theil 1950, Sen 1968) with its
interval, and a warning when that line meets the limit before the next visit.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from app.rules.quantities import Unit, describe_number, number_rounded

FEWEST = 4
_YEAR = Decimal("365.25")
_Z95 = 1.959963984540054


@dataclass(frozen=True)
class Trend:
    """The line through so many readings: slope and its 95 % interval low to high in unit per year; meets_on is the day
    on which it reaches the limit (None where it does not within twenty years). sure says that the whole interval goes
    towards the limit or stands still, warning that a sure line reaches it before the next visit. The line begins on
    first_on at start, and turns about middle, the medians of days in years and of values.
    """

    slope: Decimal
    low: Decimal
    high: Decimal
    meets_on: date | None
    sure: bool
    warning: bool
    sentence: str
    first_on: date
    start: Decimal
    middle: tuple[Decimal, Decimal]
    readings: int

    def value_on(self, day: date) -> Decimal:
        """Where the line stands on a day."""
        return self.start + self.slope * (day - self.first_on).days / _YEAR

    def range_on(self, day: date) -> tuple[Decimal, Decimal]:
        """Between which values the lines of the slope's interval stand on a day; they meet in the middle."""
        years = Decimal((day - self.first_on).days) / _YEAR - self.middle[0]
        ends = (self.middle[1] + self.low * years, self.middle[1] + self.high * years)
        return min(ends), max(ends)


def number_slopes(xs: Sequence[Decimal], ys: Sequence[Decimal]) -> tuple[Decimal, Decimal, Decimal]:
    """Give the median of all slopes between pairs of points, and its 95 % interval by Kendall's variance.

    Ties in either coordinate are allowed for. Raises ValueError where fewer than two points differ in x.
    """
    slopes = sorted(
        (ys[j] - ys[i]) / (xs[j] - xs[i]) for i in range(len(xs)) for j in range(i + 1, len(xs)) if xs[i] != xs[j]
    )
    if not slopes:
        raise ValueError("A trend needs readings from at least two days.")
    count, pairs = len(xs), len(slopes)
    variance = (count * (count - 1) * (2 * count + 5) - _ties(xs) - _ties(ys)) / 18
    reach = _Z95 * math.sqrt(max(variance, 0))
    upper = min(round((pairs + reach) / 2), pairs - 1)
    lower = max(round((pairs - reach) / 2) - 1, 0)
    return _median(slopes), slopes[lower], slopes[upper]


def _ties(values: Sequence[Decimal]) -> int:
    return sum(k * (k - 1) * (2 * k + 5) for k in Counter(values).values())


def _median(values: Sequence[Decimal]) -> Decimal:
    ordered, middle = sorted(values), len(values) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2


def describe_trend(
    history: Sequence[tuple[date, Decimal]],
    unit: Unit,
    *,
    at_most: Decimal | None = None,
    at_least: Decimal | None = None,
    next_visit_on: date | None = None,
) -> Trend | None:
    """Describe how a reading moves against its limit; None with fewer than four readings or all of one day.

    history holds exact readings only, in unit; a reading shown as "more than" has no place on a line.
    """
    if len(history) < FEWEST or len({day for day, _ in history}) < 2:
        return None
    ordered = sorted(history)
    first = ordered[0][0]
    xs = [Decimal((day - first).days) / _YEAR for day, _ in ordered]
    ys = [value for _, value in ordered]
    slope, low, high = number_slopes(xs, ys)
    middle = (_median(xs), _median(ys))
    start = middle[1] - slope * middle[0]
    meets_on = _meets_on(first, start, slope, at_most, at_least, ordered[-1][0])
    sure = low >= 0 if slope > 0 else high <= 0
    warning = sure and meets_on is not None and next_visit_on is not None and meets_on <= next_visit_on
    shown = f"{_signed(slope)} {unit.symbol} a year ({_signed(low)} to {_signed(high)}, 95 %)"
    if meets_on is None:
        says = "not towards the limit" if (slope <= 0 if at_most is not None else slope >= 0) else "far from the limit"
    else:
        says = f"reaches the limit about {meets_on:%B %Y}"
        says += ", before the next visit: look at it now or come sooner" if warning else ""
        says += "" if sure else " if it goes on, but the readings scatter too much to tell"
    sentence = f"{len(ordered)} readings, {shown}: {says}."
    return Trend(slope, low, high, meets_on, sure, warning, sentence, first, start, middle, len(ordered))


def _meets_on(
    first: date, start: Decimal, slope: Decimal, at_most: Decimal | None, at_least: Decimal | None, last: date
) -> date | None:
    """The day on which the line reaches the limit it moves towards: not before the last reading."""
    limit = at_most if at_most is not None else at_least
    if limit is None or slope == 0 or (slope > 0) != (at_most is not None):
        return None
    days = (limit - start) / slope * _YEAR
    if days > Decimal((last - first).days) + 20 * _YEAR:
        return None
    return max(first + timedelta(days=int(max(days, Decimal(0)))), last)


def _signed(value: Decimal) -> str:
    # Three figures say as much as a few readings can.
    rounded = number_rounded(value, min(4, max(0, 2 - value.adjusted()))) if value else value
    return f"{'+' if rounded > 0 else '−' if rounded < 0 else ''}{describe_number(abs(rounded))}"
