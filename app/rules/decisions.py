"""How a measured value and its uncertainty become an outcome: the decision rules of ILAC-G8:09/2019.

Simple acceptance looks at the number alone; a guard band moves the acceptance limit inwards by the expanded
uncertainty; the four-way rule names what lies within the guard band on either side.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from app.rules.quantities import Bound, number_rounded
from app.rules.verdicts import GOOD, Outcome


class DecisionRule(StrEnum):
    SIMPLE = "simple"
    GUARD_BAND = "guard-band"
    FOUR_WAY = "four-way"

    @property
    def word(self) -> str:
        return {
            "simple": "simple acceptance",
            "guard-band": "guard band of one expanded uncertainty",
            "four-way": "four-way with guard band of one expanded uncertainty",
        }[self.value]


# The source's bounds on the probability that a passed item is in truth beyond the limit.
RISK = {
    DecisionRule.SIMPLE: "below 50 %",
    DecisionRule.GUARD_BAND: "below 2.5 %",
    DecisionRule.FOUR_WAY: "below 2.5 % for a pass, below 50 % for a conditional pass",
}


@dataclass(frozen=True)
class Band:
    """The limits and the guard band w that a value is judged by; either limit may be missing."""

    at_least: Decimal | None
    at_most: Decimal | None
    guard: Decimal = Decimal(0)

    @property
    def accept_at_least(self) -> Decimal | None:
        return None if self.at_least is None else self.at_least + self.guard

    @property
    def accept_at_most(self) -> Decimal | None:
        return None if self.at_most is None else self.at_most - self.guard


def judge_value(value: Decimal, bound: Bound, band: Band, rule: DecisionRule = DecisionRule.SIMPLE) -> Outcome:
    """Judge one value against its limits under a decision rule; equality passes.

    A value with a bound is judged by every true value it could stand for: where those lie on both sides of
    acceptance it is inconclusive, else the worst of them counts.
    """
    if rule is DecisionRule.SIMPLE and band.guard:
        band = Band(band.at_least, band.at_most)
    if bound is Bound.EXACT:
        return _judge_exact(value, band, rule)
    outcomes = [_judge_exact(each, band, rule) for each in _values_beyond(value, bound, band)]
    if any(each in GOOD for each in outcomes) and any(each not in GOOD for each in outcomes):
        return Outcome.INCONCLUSIVE
    order = [Outcome.PASS, Outcome.CONDITIONAL_PASS, Outcome.CONDITIONAL_FAIL, Outcome.FAIL]
    return max(outcomes, key=order.index)


def _judge_exact(value: Decimal, band: Band, rule: DecisionRule) -> Outcome:
    outside = _beyond(value, band.at_least, band.at_most)
    if rule is DecisionRule.FOUR_WAY:
        if outside <= -band.guard:
            return Outcome.PASS
        if outside <= 0:
            return Outcome.CONDITIONAL_PASS
        return Outcome.CONDITIONAL_FAIL if outside <= band.guard else Outcome.FAIL
    return Outcome.PASS if outside <= -band.guard else Outcome.FAIL


def _beyond(value: Decimal, at_least: Decimal | None, at_most: Decimal | None) -> Decimal:
    """How far the value lies outside its limits; negative inside them."""
    distances = [] if at_most is None else [value - at_most]
    if at_least is not None:
        distances.append(at_least - value)
    return max(distances, default=Decimal("-Infinity"))


def _values_beyond(value: Decimal, bound: Bound, band: Band) -> list[Decimal]:
    """Enough true values to see every outcome that a reading of "more than" or "less than" could hide."""
    edges = {Decimal(0)}
    for limit in (band.at_least, band.at_most):
        if limit is not None:
            edges |= {limit, limit - band.guard, limit + band.guard}
    near = Decimal("1e-15")
    top = max(*edges, value) + 1
    marks = sorted({each for edge in edges for each in (edge - near, edge, edge + near) if each >= 0} | {top})
    if bound is Bound.ABOVE:
        return [value + near, *(each for each in marks if each > value)]
    return [max(value - near, Decimal(0)), *(each for each in marks if each < value)]


def number_conformance(
    value: Decimal, standard_uncertainty: Decimal, *, at_most: Decimal | None, at_least: Decimal | None
) -> Decimal:
    """Give the probability that the true value meets its limits, for a normal distribution (JCGM 106), to 4 places.

    standard_uncertainty, above zero, is half the expanded uncertainty at k = 2.
    """
    above = 1.0 if at_most is None else number_normal(float((at_most - value) / standard_uncertainty))
    below = 0.0 if at_least is None else number_normal(float((at_least - value) / standard_uncertainty))
    return number_rounded(Decimal(above - below), 4)


def number_false_accept(guard_in_uncertainties: float, k: float = 2.0) -> float:
    """Give the highest probability of a false pass for a guard band of so many expanded uncertainties."""
    return number_normal(-guard_in_uncertainties * k)


def limit_by_guard_factor(
    limit: Decimal, standard_uncertainty: Decimal, factor: Decimal, *, upper: bool = True
) -> Decimal:
    """Give the acceptance limit for a guard factor: 1.64 for 5 % risk, 2.33 for 1 % (Eurachem)."""
    guard = factor * standard_uncertainty
    return limit - guard if upper else limit + guard


def number_normal(z: float) -> float:
    """Give the normal distribution's probability of a value below z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
