"""The history of one kind of reading of one item, from its last repair on, and the warnings that it gives.

A warning is advice: it says when to look or come sooner, and never changes a verdict.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from app.rules.checks import Check
from app.rules.closing_margins import LAST, ClosingMargin, describe_closing_margin
from app.rules.horizons import Horizon
from app.rules.quantities import Bound, Unit, describe_number
from app.rules.trends import BY_POWERS, FEWEST, Measured, Trend, describe_trend

#: A shorter history warns of nothing.
SHORTEST = min(LAST, FEWEST)
_EVER = Horizon(date.max, date.min, "", "")


@dataclass(frozen=True)
class PastReading:
    """One reading and the limit that held for it, both in the unit of the history's limit. repaired says that the item
    was repaired since the reading before it; instrument names what measured it, where that is on record.
    """

    on: date
    value: Decimal
    bound: Bound = Bound.EXACT
    failed: bool = False
    repaired: bool = False
    instrument: str = ""
    outcome: str = ""
    limit: Decimal | None = None
    limit_text: str = ""

    @property
    def exact(self) -> bool:
        return self.bound is Bound.EXACT


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

    @property
    def by_powers(self) -> bool:
        return self.check in BY_POWERS


@dataclass(frozen=True)
class HistoryTold:
    """What a history says by a horizon: a trend and a margin that closes quickly, each where there is one."""

    trend: Trend | None
    closing: ClosingMargin | None

    @property
    def warning(self) -> bool:
        return self.closing is not None or (self.trend is not None and self.trend.warning)

    @property
    def sentence(self) -> str:
        """What it says, a warning first; nothing where there is too little to say."""
        parts = (self.closing, self.trend)
        return " ".join(part.sentence for part in parts if part is not None)


@dataclass(frozen=True)
class TrendWarning:
    """A reading on its way to its limit, with the sentence that says so and the words before that day."""

    check: Check
    point: str
    multiple: Decimal | None
    phase_deg: int | None
    title: str
    told: HistoryTold
    horizon: Horizon

    @property
    def sentence(self) -> str:
        return f"{self.title}: {self.told.sentence}"

    @property
    def meets_on(self) -> date | None:
        """When the limit is met, where that is before the horizon."""
        if self.told.trend is not None and self.told.trend.warning:
            return self.told.trend.meets_on
        return self.told.closing.meets_on if self.told.closing else None

    @property
    def short(self) -> str:
        if self.meets_on is None:
            return f"{self.title} goes towards its limit step by step, and {self._gone} of the margin has gone"
        reached = "would have reached" if self.meets_on < self.horizon.today else "reaches"
        return f"{self.title} {reached} its limit about {self.meets_on:%B %Y}"

    @property
    def whole(self) -> str:
        """The short sentence with its day: "... reaches its limit about May 2027, before the next visit."."""
        if self.meets_on is None:
            return f"{self.short}; this rests on few readings."
        return f"{self.short}, {self.horizon.words}."

    @property
    def remark(self) -> str:
        """What a certificate says of it."""
        advice = "Advice only; the verdict stands."
        trend = self.told.trend
        when = "before the next test is due" if self.horizon.mark == "next visit" else "within a year"
        if trend is not None and trend.warning:
            return (
                f"{self.title}: moving towards its limit over {trend.readings} visits, and there about "
                f"{trend.meets_on:%B %Y} if it goes on so, {when}. {advice}"
            )
        there = f", and the limit is met about {self.meets_on:%B %Y} at that pace, {when}" if self.meets_on else ""
        return (
            f"{self.title}: nearer its limit at each of the last {LAST - 1} visits; {self._gone} of the margin has "
            f"gone{there}. This rests on few readings. {advice}"
        )

    @property
    def _gone(self) -> str:
        return f"{int(self.told.closing.gone * 100)} %" if self.told.closing else "part"


def list_since_repair(past: Iterable[PastReading]) -> tuple[PastReading, ...]:
    """List the readings from the last repair on: what went before belongs to another state of the item.

    A repair is one on record, whatever it was for, or a reading within the limit after one that failed.
    """
    kept: list[PastReading] = []
    for reading in past:
        if kept and (reading.repaired or (kept[-1].failed and not reading.failed)):
            kept = []
        kept.append(reading)
    return tuple(kept)


def describe_history(history: ReadingHistory, horizon: Horizon | None) -> HistoryTold:
    """Describe how a history moves since its last repair, and what it warns of before the horizon.

    A reading beyond the range of the instrument counts where that lies on the good side of the limit.
    """
    good = Bound.BELOW if history.at_most is not None else Bound.ABOVE
    limits = {"at_most": history.at_most, "at_least": history.at_least, "by_powers": history.by_powers}
    kept = list_since_repair(history.past)
    if kept and kept[-1].failed:
        horizon = None  # nothing to come sooner for
    measured = [
        Measured(each.on, each.value, each.instrument, not each.exact)
        for each in kept
        if each.exact or each.bound is good
    ]
    trend = describe_trend(measured, history.unit, horizon=horizon, **limits)  # type: ignore[arg-type]
    closing = None
    if horizon is not None and not (trend is not None and trend.warning):
        closing = describe_closing_margin(measured, history.unit, horizon=horizon, **limits)  # type: ignore[arg-type]
    return HistoryTold(trend, closing)


def list_trend_warnings(
    histories: Iterable[ReadingHistory], horizon_of: Callable[[int], Horizon | None]
) -> dict[int, list[TrendWarning]]:
    """List the warnings by item. horizon_of gives until when an item is followed, None where it is not; it is asked
    only where a limit is met at all, for it may ask the database. What has failed already needs no warning.
    """
    found: dict[int, list[TrendWarning]] = {}
    for history in histories:
        limited = history.at_most is not None or history.at_least is not None
        if not limited or len(history.past) < SHORTEST or history.past[-1].failed:
            continue
        if not describe_history(history, _EVER).warning or (horizon := horizon_of(history.item_id)) is None:
            continue
        told = describe_history(history, horizon)
        if told.warning:
            found.setdefault(history.item_id, []).append(
                TrendWarning(
                    history.check, history.point, history.multiple, history.phase_deg, history.title, told, horizon
                )
            )
    return found
