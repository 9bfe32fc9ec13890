"""The history of one kind of reading of one item, from its last repair on, and the warnings that its trend gives.

A warning is advice: it says when to look or come sooner, and never changes a verdict.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from app.rules.checks import Check
from app.rules.quantities import Unit, describe_number
from app.rules.trends import FEWEST, Trend, describe_trend


@dataclass(frozen=True)
class PastReading:
    """One reading in the unit of its limit. exact is False where the instrument showed only a bound; repaired says
    that it was taken after a repair.
    """

    on: date
    value: Decimal
    exact: bool = True
    failed: bool = False
    repaired: bool = False


@dataclass(frozen=True)
class ReadingHistory:
    """All readings of one check at one point of an item, the oldest first, with the limit that held for the newest."""

    item_id: int
    check: Check
    point: str
    unit: Unit
    past: tuple[PastReading, ...]
    at_most: Decimal | None = None
    at_least: Decimal | None = None
    multiple: Decimal | None = None
    phase_deg: int | None = None

    @property
    def title(self) -> str:
        """What was measured and where: "Insulation resistance", "RCD trip time, 5 × at 180°"."""
        times = f"{describe_number(self.multiple)} ×" if self.multiple is not None else ""
        phase = f" at {self.phase_deg}°" if times and self.phase_deg is not None else ""
        parts = (f"{self.check.word[0].upper()}{self.check.word[1:]}", self.point, f"{times}{phase}")
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True)
class TrendWarning:
    """A trend that meets its limit before the next visit, with the sentence that says so."""

    check: Check
    point: str
    multiple: Decimal | None
    phase_deg: int | None
    title: str
    meets_on: date
    trend: Trend

    @property
    def sentence(self) -> str:
        return f"{self.title}: {self.trend.sentence}"

    @property
    def short(self) -> str:
        return f"{self.title} reaches its limit about {self.meets_on:%B %Y}"

    @property
    def remark(self) -> str:
        """What a certificate says of it."""
        return (
            f"{self.title}: moving towards its limit over {self.trend.readings} visits, and there about "
            f"{self.meets_on:%B %Y} if it goes on so, before the next test is due. Advice only; the verdict stands."
        )


def list_since_repair(past: Iterable[PastReading]) -> tuple[PastReading, ...]:
    """List the readings from the last repair on: what went before belongs to another state of the item.

    A repair is a test after one, or a reading within the limit after one that failed.
    """
    kept: list[PastReading] = []
    for reading in past:
        if kept and (reading.repaired or (kept[-1].failed and not reading.failed)):
            kept = []
        kept.append(reading)
    return tuple(kept)


def describe_history_trend(history: ReadingHistory, next_visit_on: date | None) -> Trend | None:
    """Describe the trend of a history since its last repair; None where there are too few exact readings."""
    exact = [(reading.on, reading.value) for reading in list_since_repair(history.past) if reading.exact]
    return describe_trend(
        exact, history.unit, at_most=history.at_most, at_least=history.at_least, next_visit_on=next_visit_on
    )


def list_trend_warnings(
    histories: Iterable[ReadingHistory], next_visit_of: Callable[[int], date | None]
) -> dict[int, list[TrendWarning]]:
    """List the warnings by item. next_visit_of gives the next visit of an item; it is asked only where a line meets
    its limit at all. What has failed already needs no warning.
    """
    found: dict[int, list[TrendWarning]] = {}
    for history in histories:
        limited = history.at_most is not None or history.at_least is not None
        if not limited or len(history.past) < FEWEST or history.past[-1].failed:
            continue
        far = describe_history_trend(history, None)
        if far is None or far.meets_on is None or not far.sure:
            continue
        near = describe_history_trend(history, next_visit_of(history.item_id))
        if near is not None and near.warning:
            found.setdefault(history.item_id, []).append(
                TrendWarning(
                    history.check,
                    history.point,
                    history.multiple,
                    history.phase_deg,
                    history.title,
                    far.meets_on,
                    near,
                )
            )
    return found
