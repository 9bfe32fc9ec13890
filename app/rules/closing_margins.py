"""A margin that closes quickly, told from the last four readings where a line would need more. This is common sense of
our own and has no source: it asks for three steps in a row towards the limit, so that scatter alone seldom looks so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from app.rules.horizons import Horizon
from app.rules.quantities import Unit, describe_number
from app.rules.trends import Measured

LAST = 4
#: So much of the former margin may go in three steps before it is said.
GONE_MOST = Decimal("0.5")
#: What has changed by less than a fifth may be the scatter of hand and instrument.
CHANGE_LEAST = Decimal("0.2")
#: Two instruments may show so much of each other where both keep to 30 % (IEC 61557-2 and -4, operating uncertainty;
#: from memory).
BETWEEN_TWO = Decimal("1.3") / Decimal("0.7")


@dataclass(frozen=True)
class ClosingMargin:
    """Three steps in a row towards a limit: gone is the part of the margin that went with them; meets_on the day on
    which the limit is met at that pace, None where not before the horizon.
    """

    gone: Decimal
    meets_on: date | None
    sentence: str


def describe_closing_margin(
    history: Sequence[Measured],
    unit: Unit,
    *,
    at_most: Decimal | None = None,
    at_least: Decimal | None = None,
    horizon: Horizon,
    by_powers: bool = False,
) -> ClosingMargin | None:
    """Describe a margin that closes quickly; None where there is nothing to warn of. history comes oldest first.

    The last four readings each lie nearer the limit than the one before, and have changed by a fifth at least; and at
    their pace the limit is met before the horizon, or more than half of the margin has gone. The first of the four may
    be one beyond the range of the instrument, on the good side: it counts as its bound. Of a step between two
    instruments only that counts which the uncertainty of both cannot explain; where nothing is left, nothing is said.

    Readings that only scatter (5 %, shown to 0.01 Ω or 0.01 MΩ, next visit a year on) give this or a sure line in 0.2 %
    of histories of four to nine visits at most, wherever they lie; with 10 % scatter in 1.5 % where they lie within
    half of the limit, else in 0.1 % (simulated in tests/rules/test_closing_margins.py).
    """
    last = history[-LAST:]
    limit = at_most if at_most is not None else at_least
    if len(last) < LAST or limit is None or any(each.beyond for each in last[1:]):
        return None
    values = [each.value for each in last]
    within = values[-1] <= limit if at_most is not None else values[-1] >= limit
    if not within or (by_powers and min(*values, limit) <= 0):
        return None
    if abs(values[-1] - values[0]) < CHANGE_LEAST * max(values[0], values[-1]):
        return None
    steps = [_step(a, b, at_most is not None, by_powers) for a, b in zip(last, last[1:], strict=False)]
    if min(steps) <= 0:
        return None
    left = abs(limit.log10() - values[-1].log10()) if by_powers else abs(limit - values[-1])
    former = left + sum(steps)
    gone = (former - left) / former
    days = (last[-1].on - last[0].on).days
    met = int(min(days * left / (former - left), Decimal(36_500)))
    meets_on = last[-1].on + timedelta(days=met)
    soon = meets_on if days and meets_on <= horizon.on else None
    if soon is None and gone <= GONE_MOST:
        return None
    told = ", ".join(f"{'> ' if each.beyond and at_most is None else '< ' if each.beyond else ''}"
                     f"{describe_number(each.value, 4)}" for each in last)  # fmt: skip
    says = f"the last {LAST} readings go towards the limit step by step ({told} {unit.symbol}), and "
    percent = int(gone * 100)
    says += f"{percent} % of the margin has gone"
    if soon is not None:
        passed = soon < horizon.today
        says += (
            f"; at that pace the limit {'would have been' if passed else 'is'} met about {soon:%B %Y}, {horizon.words}"
        )
    sentence = f"{says[0].upper()}{says[1:]}: look at it now or come sooner. This rests on few readings."
    if len({each.instrument for each in last}) > 1:
        sentence += " The instrument changed in between, and what that may explain is left out."
    return ClosingMargin(gone, soon, sentence)


def _step(before: Measured, after: Measured, up: bool, by_powers: bool) -> Decimal:
    """How far a reading lies nearer the limit than the one before, in powers of ten where by_powers."""
    start = before.value
    if before.instrument != after.instrument:
        start = start * BETWEEN_TWO if up else start / BETWEEN_TWO
    way = after.value.log10() - start.log10() if by_powers else after.value - start
    return way if up else -way
