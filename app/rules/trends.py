"""How a reading moves from visit to visit: a robust line through its history (Theil 1950, Sen 1968) with an interval
that holds at least 95 %, and a warning when that line meets the limit before the next visit.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from app.rules.checks import Check
from app.rules.horizons import Horizon
from app.rules.quantities import Unit, describe_number, number_rounded
from app.rules.rank_orders import number_slopes_outside

#: Four readings have 24 orders, and one in forty is wanted at each side: no 95 % interval exists for them.
FEWEST = 5
#: Up to here the interval is counted; beyond it Kendall's variance serves, which is good for many readings.
EXACT_MOST = 30
#: Insulation goes from a hundred kilohms to gigohms and falls by factors: its line and its scale go by powers of ten.
BY_POWERS = (Check.INSULATION_RESISTANCE,)
_YEAR = Decimal("365.25")
_Z95 = 1.959963984540054


@dataclass(frozen=True)
class Trend:
    """The line through so many readings: slope and its 95 % interval low to high in unit per year, or in powers of ten
    per year where by_powers; meets_on is the day on which it reaches the limit (None where it does not within twenty
    years). sure says that the whole interval goes the way of the line and that nothing else contradicts it; warning
    that a sure line reaches the limit before the horizon. The line begins on first_on at start, and turns about middle,
    the medians of days in years and of values.
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
    by_powers: bool = False

    def value_on(self, day: date) -> Decimal:
        """Where the line stands on a day, in the unit of the readings."""
        return self._shown(self.start + self.slope * (day - self.first_on).days / _YEAR)

    def range_on(self, day: date) -> tuple[Decimal, Decimal]:
        """Between which values the lines of the slope's interval stand on a day; they meet in the middle."""
        years = Decimal((day - self.first_on).days) / _YEAR - self.middle[0]
        ends = (self.middle[1] + self.low * years, self.middle[1] + self.high * years)
        return self._shown(min(ends)), self._shown(max(ends))

    def _shown(self, value: Decimal) -> Decimal:
        return Decimal(10) ** value if self.by_powers else value


@dataclass(frozen=True)
class Measured:
    """One reading of a history. beyond says that the instrument showed only that it lies on the good side of value."""

    on: date
    value: Decimal
    instrument: str = ""
    beyond: bool = False


def number_slopes(xs: Sequence[Decimal], ys: Sequence[Decimal]) -> tuple[Decimal, Decimal, Decimal]:
    """Give the median of all slopes between pairs of points, and its 95 % interval.

    The interval is counted from the exact distribution of Kendall's S up to thirty points, also where some have one x,
    and is on the safe side where some have one y; beyond that it comes from Kendall's variance. Raises ValueError where
    no 95 % interval exists: with fewer than five points, or with too many of one x.
    """
    slopes = _slopes(xs, ys)
    count, pairs = len(xs), len(slopes)
    if count <= EXACT_MOST:
        lower = number_slopes_outside(Counter(xs).values())
        if lower is None:
            raise ValueError("A 95 % interval needs readings from at least five days, or more readings.")
        return _median(slopes), slopes[lower], slopes[pairs - 1 - lower]
    if not slopes:
        raise ValueError("A trend needs readings from at least two days.")
    variance = (count * (count - 1) * (2 * count + 5) - _ties(xs) - _ties(ys)) / 18
    reach = _Z95 * math.sqrt(max(variance, 0))
    upper = min(round((pairs + reach) / 2), pairs - 1)
    return _median(slopes), slopes[max(round((pairs - reach) / 2) - 1, 0)], slopes[upper]


def _slopes(xs: Sequence[Decimal], ys: Sequence[Decimal], names: Sequence[str] | None = None) -> list[Decimal]:
    """The slopes between all pairs of points, or only between those of one name."""
    return sorted(
        (ys[j] - ys[i]) / (xs[j] - xs[i])
        for i in range(len(xs))
        for j in range(i + 1, len(xs))
        if xs[i] != xs[j] and (names is None or names[i] == names[j])
    )


def _ties(values: Sequence[Decimal]) -> int:
    return sum(k * (k - 1) * (2 * k + 5) for k in Counter(values).values())


def _median(values: Sequence[Decimal]) -> Decimal:
    ordered, middle = sorted(values), len(values) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2


def describe_trend(
    history: Sequence[Measured],
    unit: Unit,
    *,
    at_most: Decimal | None = None,
    at_least: Decimal | None = None,
    horizon: Horizon | None = None,
    by_powers: bool = False,
) -> Trend | None:
    """Describe how a reading moves against its limit; None where the exact readings are too few for an interval.

    A reading beyond the range of the instrument has no place on a line, but one above it on the good side, later than
    the first exact one, takes its certainty away. So does a change of instrument where the readings of each instrument
    by itself do not go the same way and there. by_powers fits the logarithms; no exact value may be zero then.
    """
    ordered = sorted((each for each in history if not each.beyond), key=lambda each: (each.on, each.value))
    if len(ordered) < FEWEST or (by_powers and ordered and min(each.value for each in ordered) <= 0):
        return None
    first, last = ordered[0].on, ordered[-1]
    xs = [Decimal((each.on - first).days) / _YEAR for each in ordered]
    ys = [each.value.log10() if by_powers else each.value for each in ordered]
    try:
        slope, low, high = number_slopes(xs, ys)
    except ValueError:
        return None
    middle = (_median(xs), _median(ys))
    start = middle[1] - slope * middle[0]
    limit, up = (at_most, True) if at_most is not None else (at_least, False)
    goal = limit.log10() if by_powers and limit is not None and limit > 0 else limit
    towards = limit is not None and slope != 0 and (slope > 0) == up
    meets_on = _meets_on(first, start, slope, goal, last.on) if towards and goal is not None else None
    line = Trend(slope, low, high, meets_on, False, False, "", first, start, middle, len(ordered), by_powers)
    doubt = ""
    if not (low > 0 or high < 0):
        doubt = "the readings scatter too much to tell, or stand still"
    elif against := [each for each in history if limit is not None and _contradicts(each, line, first, up)]:
        many = "a reading" if len(against) == 1 else f"{len(against)} readings"
        doubt = f"{many} beyond the range of the instrument, {_day(max(each.on for each in against))}, "
        doubt += f"{'lies' if len(against) == 1 else 'lie'} on the good side of it"
    elif towards and goal is not None and not _told_by_one(ordered, xs, ys, slope, goal, meets_on, horizon):
        doubt = "without the step from one instrument to the other it would not show"
    sure = not doubt
    warning = sure and meets_on is not None and horizon is not None and meets_on <= horizon.on
    told = _describe_slope(line, unit)
    if meets_on is None:
        says = "far from the limit" if towards else "not towards the limit"
    else:
        within = limit is None or (last.value <= limit if up else last.value >= limit)
        says = _describe_meeting(meets_on, last.on, within, horizon)
        if warning and horizon is not None:
            says += f", {horizon.words}" if meets_on > last.on else ""
            says += ": look at it now or come sooner"
        still_to_come = says.startswith("reaches")
        says += f"{' if it goes on' if still_to_come else ''}, but {doubt}" if doubt else ""
    whole = len(ordered) + sum(each.beyond for each in history)
    count = f"{len(ordered)} readings" if whole == len(ordered) else f"{len(ordered)} exact readings of {whole}"
    sentence = " ".join((f"{count}, {told}: {says}.", *_describe_instruments(history)))
    return Trend(
        slope, low, high, meets_on, sure, warning, sentence, first, start, middle, len(ordered), by_powers
    )  # fmt: skip


def _contradicts(reading: Measured, line: Trend, first: date, up: bool) -> bool:
    """Whether a reading beyond the range lies on the good side of the line: lower than it for a limit above."""
    if not reading.beyond or reading.on <= first:
        return False
    there = line.value_on(reading.on)
    return reading.value < there if up else reading.value > there


def _told_by_one(
    ordered: Sequence[Measured], xs: Sequence[Decimal], ys: Sequence[Decimal], slope: Decimal, goal: Decimal,
    meets_on: date | None, horizon: Horizon | None,
) -> bool:  # fmt: skip
    """Whether pairs of one instrument alone go the same way, and meet the limit before the horizon where all do."""
    names = [each.instrument for each in ordered]
    if len(set(names)) < 2:
        return True
    alone = _slopes(xs, ys, names)
    if not alone or _median(alone) * slope <= 0:
        return False
    if horizon is None or meets_on is None or meets_on > horizon.on:
        return True
    newest = [(x, y) for x, y, name in zip(xs, ys, names, strict=True) if name == names[-1]]
    start = _median([y - _median(alone) * x for x, y in newest])
    meets = _meets_on(ordered[0].on, start, _median(alone), goal, ordered[-1].on)
    return meets is not None and meets <= horizon.on


def _describe_instruments(history: Sequence[Measured]) -> list[str]:
    """Say that the instrument changed within a history, and when."""
    ordered = sorted(history, key=lambda each: each.on)
    changes = [(a, b) for a, b in zip(ordered, ordered[1:], strict=False) if a.instrument != b.instrument]
    if not changes:
        return []
    if len(changes) > 1:
        return [f"The instrument changed {len(changes)} times; a step between two may be theirs."]
    [(before, after)] = changes
    names = f", from {before.instrument} to {after.instrument}" if before.instrument and after.instrument else ""
    return [f"The instrument changed {_day(after.on)}{names}; a step there may be its own."]


def _describe_meeting(meets_on: date, last: date, within: bool, horizon: Horizon | None) -> str:
    if meets_on <= last:
        return "the line has met the limit already" + (", though the newest reading is within it" if within else "")
    passed = horizon is not None and meets_on < horizon.today
    return f"{'would have reached' if passed else 'reaches'} the limit about {meets_on:%B %Y}"


def _meets_on(first: date, start: Decimal, slope: Decimal, limit: Decimal, last: date) -> date | None:
    """The day on which the line reaches the limit it moves towards: not before the last reading."""
    days = (limit - start) / slope * _YEAR
    if days > Decimal((last - first).days) + 20 * _YEAR:
        return None
    return max(first + timedelta(days=int(max(days, Decimal(0)))), last)


def _day(day: date) -> str:
    return f"in {day:%B %Y}"


def _describe_slope(trend: Trend, unit: Unit) -> str:
    """Two figures say as much as a few readings can; a line by powers is told in per cent."""
    if trend.by_powers:
        slope, low, high = (_percent(each) for each in (trend.slope, trend.low, trend.high))
        return f"{slope} % a year (95 %: {low} % to {high} %)"
    slope, low, high = (_signed(each) for each in (trend.slope, trend.low, trend.high))
    return f"{slope} {unit.symbol} a year (95 %: {low} to {high})"


def _percent(powers: Decimal) -> str:
    """How much is gained or lost in a year, in per cent."""
    if powers > 1:
        return "more than +900"
    change = (Decimal(10) ** powers - 1) * 100
    return "more than −99" if change < -99 else _signed(change)


def _signed(value: Decimal) -> str:
    rounded = number_rounded(value, min(6, max(0, 1 - value.adjusted()))) if value else value
    return f"{'+' if rounded > 0 else '−' if rounded < 0 else ''}{describe_number(abs(rounded))}"
