"""Where the marks of the checks against one reference item stand, between the ends of its tolerance band."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.rules.charts import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Mark
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
    width: int = WIDTH
    height: int = HEIGHT

    @property
    def band(self) -> tuple[tuple[float, float], ...]:
        return (*self.low, *reversed(self.high))


#: Beyond this the marks would stand on top of each other; the sentence is worked out from all of them.
DRAWN_MOST = 120


def show_band_chart(title: str, sentence: str, checks: Sequence[ReferenceCheckRow]) -> BandChart:
    """Place the checks, oldest first. The scale holds the band and every exact reading not absurdly far outside it."""
    drawn = checks[-DRAWN_MOST:]
    low, high = min(row.low for row in drawn), max(row.high for row in drawn)
    reach = (high - low) / 2
    values = [min(max(row.value, low - 3 * reach), high + 3 * reach) for row in drawn]
    bottom, top = float(min(low, *values) - reach / 4), float(max(high, *values) + reach / 4)
    first, last = drawn[0].checked_on, drawn[-1].checked_on
    days = max((last - first).days, 1)

    def across(row: ReferenceCheckRow) -> float:
        share = (row.checked_on - first).days / days if last > first else 0.5
        return round(LEFT + 10 + share * (WIDTH - LEFT - RIGHT - 20), 1)

    def up(value: float) -> float:
        return round(HEIGHT - BOTTOM - (value - bottom) / (top - bottom) * (HEIGHT - TOP - BOTTOM), 1)

    def line(name: str) -> tuple[tuple[float, float], ...]:
        points = [(across(row), up(float(getattr(row, name)))) for row in drawn]
        return ((float(LEFT), points[0][1]), *points, (float(WIDTH - RIGHT), points[-1][1]))

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
    newest, shown = drawn[-1], list(dict.fromkeys((drawn[0], drawn[len(drawn) // 2], drawn[-1])))
    left_out = len(checks) - len(drawn)
    return BandChart(
        title=title,
        sentence=sentence,
        unit=Unit(newest.unit).symbol,
        marks=marks,
        low=line("low"),
        nominal=line("nominal"),
        high=line("high"),
        across=tuple((across(row), f"{row.checked_on:%b %Y}") for row in shown),
        up=tuple((up(float(value)), describe_number(value, 4)) for value in (newest.low, newest.nominal, newest.high)),
        rows=tuple(reversed(checks)),
        left_out=f"{show_plural(left_out, 'older check')} not drawn." if left_out else "",
    )
