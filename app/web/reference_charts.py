"""Where the marks of the checks against one reference item stand, between the ends of its tolerance band."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from app.rules.chart_words import BOTTOM, HEIGHT, LEFT, NARROW, RIGHT, TOP, WIDTH, Word, list_day_words
from app.rules.charts import Mark
from app.rules.quantities import Bound, Unit, describe_number
from app.store.reference_checks import ReferenceCheckRow
from app.web.filters import show_date, show_plural, show_units


@dataclass(frozen=True)
class BandChart:
    """A history ready to draw. low, nominal and high are lines of (x, y); band is the area between the outer two.

    left_out is a sentence on checks that are older than what is drawn; rows are the table behind the picture.
    """

    title: str
    sentence: str
    unit: str
    marks: tuple[Mark, ...]
    low: tuple[tuple[float, float], ...]
    nominal: tuple[tuple[float, float], ...]
    high: tuple[tuple[float, float], ...]
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]
    rows: tuple[ReferenceCheckRow, ...]
    left_out: str = ""
    words: tuple[Word, ...] = ()
    width: int = WIDTH
    height: int = HEIGHT
    narrow: "BandChart | None" = None

    @property
    def band(self) -> tuple[tuple[float, float], ...]:
        return (*self.low, *reversed(self.high))


#: Beyond this the marks would stand on top of each other; the sentence is worked out from all of them.
DRAWN_MOST = 120


def show_band_chart(title: str, sentence: str, checks: Sequence[ReferenceCheckRow]) -> BandChart:
    """Place the checks, oldest first, for a wide place and for a telephone."""
    return replace(_drawn(title, sentence, checks, WIDTH), narrow=_drawn(title, sentence, checks, NARROW))


def _drawn(title: str, sentence: str, checks: Sequence[ReferenceCheckRow], width: int) -> BandChart:
    """The scale holds the band and every exact reading not absurdly far outside it."""
    drawn = checks[-DRAWN_MOST:]
    low, high = min(row.low for row in drawn), max(row.high for row in drawn)
    reach = (high - low) / 2
    values = [min(max(row.value, low - 3 * reach), high + 3 * reach) for row in drawn]
    bottom, top = float(min(low, *values) - reach / 4), float(max(high, *values) + reach / 4)
    first, last = drawn[0].checked_on, drawn[-1].checked_on
    days = max((last - first).days, 1)

    def across_day(day: date) -> float:
        share = (day - first).days / days if last > first else 0.5
        return round(LEFT + 10 + share * (width - LEFT - RIGHT - 20), 1)

    def across(row: ReferenceCheckRow) -> float:
        return across_day(row.checked_on)

    def up(value: float) -> float:
        return round(HEIGHT - BOTTOM - (value - bottom) / (top - bottom) * (HEIGHT - TOP - BOTTOM), 1)

    def line(name: str) -> tuple[tuple[float, float], ...]:
        points = [(across(row), up(float(getattr(row, name)))) for row in drawn]
        return ((float(LEFT), points[0][1]), *points, (float(width - RIGHT), points[-1][1]))

    marks = tuple(
        Mark(
            across(row),
            up(float(value)),
            "pass" if row.passed else "fail",
            "" if row.bound == Bound.EXACT else row.bound,
            f"{show_date(row.checked_on)}: {show_units(row.reading.text)}, {'pass' if row.passed else 'fail'}",
        )
        for row, value in zip(drawn, values, strict=True)
    )
    newest, days_shown = drawn[-1], (first, drawn[len(drawn) // 2].checked_on, last)
    highest, lowest = line("high"), line("low")
    ends = ((highest[-1][1] - 5, "highest"), (lowest[-1][1] + 14, "lowest"))
    left_out = len(checks) - len(drawn)
    return BandChart(
        title=title,
        sentence=sentence,
        unit=Unit(newest.unit).symbol,
        marks=marks,
        low=lowest,
        nominal=line("nominal"),
        high=highest,
        across=list_day_words(days_shown, across_day),
        up=tuple((up(float(value)), describe_number(value, 4)) for value in (newest.low, newest.nominal, newest.high)),
        rows=tuple(reversed(checks)),
        left_out=f"{show_plural(left_out, 'older check')} not drawn." if left_out else "",
        words=tuple(Word(width - RIGHT, round(y, 1), "end", text) for y, text in ends),
        width=width,
    )
