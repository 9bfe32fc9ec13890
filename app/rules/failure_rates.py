"""The firm's own evidence for an interval: how many failed, how sure that is, and what it supports.

Exact binomial bounds after Clopper and Pearson (1934), Wilson's interval (1927) beside them, and as an option the
German 2 % rule (DGUV Vorschrift 3, table 1B). Probabilities are floats: they are not readings.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from app.rules.equipment import Environment
from app.rules.quantities import number_rounded

TWO_PERCENT = Decimal(2)
#: In fewer tests one failure more or less moves the rate by more than a whole percent; the figure is ours.
FEW_TESTS = 100


class Area(StrEnum):
    """The kinds of place that the German rule sets a ceiling for."""

    SITE = "site"
    PRODUCTION = "production"
    WORKSHOP = "workshop"
    OFFICE = "office"


# The longest interval in months that the rule allows, by kind of place.
CEILING_MONTHS = {Area.SITE: 12, Area.PRODUCTION: 12, Area.WORKSHOP: 12, Area.OFFICE: 24}

#: The kinds of place that the rule's ceilings are for; for the others it names none.
AREAS = {
    Environment.CONSTRUCTION: Area.SITE,
    Environment.LIGHT_INDUSTRIAL: Area.PRODUCTION,
    Environment.HEAVY_INDUSTRIAL: Area.PRODUCTION,
    Environment.OFFICE: Area.OFFICE,
}


@dataclass(frozen=True)
class FailureRate:
    """percent is failed of tested; lower and upper the exact two-sided 95 % interval; at_most the one-sided 95 %
    upper bound; all in percent. supports_longer says that this bound lies below the aim. against is how much the counts
    speak against a longer interval: 0 not, 1 too few, 2 none to lengthen, 3 lower lies above the aim. The texts are the
    same numbers as pages and sentences say them.
    """

    failed: int
    tested: int
    percent: Decimal
    lower: float
    upper: float
    at_most: float
    sentence: str
    supports_longer: bool
    against: int = 2
    percent_text: str = ""
    at_most_text: str = ""
    interval_text: str = ""


@dataclass(frozen=True)
class TwoPercentRule:
    """What the German rule says of a group of like items in like places."""

    percent: Decimal
    below: bool
    may_extend: bool
    most_months: int | None
    sentence: str
    percent_text: str = ""
    at_most_text: str = ""


def number_failure_bounds(failed: int, tested: int, confidence: float = 0.95) -> tuple[float, float]:
    """Give the exact two-sided interval of the failure probability (Clopper-Pearson), as fractions of one."""
    _check_counts(failed, tested)
    tail = (1 - confidence) / 2
    low = 0.0 if failed == 0 else _beta_quantile(tail, failed, tested - failed + 1)
    high = 1.0 if failed == tested else _beta_quantile(1 - tail, failed + 1, tested - failed)
    return low, high


def limit_failure_probability(failed: int, tested: int, confidence: float = 0.95) -> float:
    """Give the exact one-sided upper bound of the failure probability, as a fraction of one."""
    _check_counts(failed, tested)
    return 1.0 if failed == tested else _beta_quantile(confidence, failed + 1, tested - failed)


def number_wilson_bounds(failed: int, tested: int, z: float = 1.959963984540054) -> tuple[float, float]:
    """Give Wilson's score interval of the failure probability, as fractions of one; z is 1.96 for 95 %."""
    _check_counts(failed, tested)
    share, spread = failed / tested, z * z / tested
    middle = (share + spread / 2) / (1 + spread)
    half = z * math.sqrt(share * (1 - share) / tested + spread / (4 * tested)) / (1 + spread)
    return max(0.0, middle - half), min(1.0, middle + half)


def describe_percent(percent: float | Decimal, aim_percent: Decimal = TWO_PERCENT) -> str:
    """Say a rate with one decimal, and with as many more as show on which side of 0, the aim and 100 it lies."""
    exact = Decimal(percent)
    for mark in (Decimal(0), Decimal(100)):
        if exact == mark:
            return f"{mark} %"
    for places in range(1, 9):
        shown = number_rounded(exact, places)
        if shown == exact or shown not in (Decimal(0), aim_percent, Decimal(100)):
            break
    return f"{shown:.{places}f} %"


def judge_failure_rate(failed: int, tested: int, aim_percent: Decimal = TWO_PERCENT) -> FailureRate:
    """Say in a sentence what the counts support; aim_percent is the rate below which an interval may be lengthened.

    It proposes; a person decides. Raises ValueError for impossible counts.
    """
    low, high = (100 * bound for bound in number_failure_bounds(failed, tested))
    most = 100 * limit_failure_probability(failed, tested)
    exact = Decimal(100 * failed) / tested
    lower_text, most_text = describe_percent(low, aim_percent), describe_percent(most, aim_percent)
    # Where all of them failed an upper bound of 100 % says nothing.
    bound = (
        f"95 % interval begins at {lower_text}" if failed == tested else f"one-sided 95 % upper bound is {most_text}"
    )
    if failed == tested == 1:
        against, says = 2, "a single item says little about others like it; look for the cause"
    elif most < aim_percent:
        against, says = 0, f"below {aim_percent} %, so a longer interval can be considered"
    elif low > aim_percent:
        against, says = 3, f"clearly above {aim_percent} %: look for the causes and consider a shorter interval"
    else:
        against, says = (1, "too few to lengthen") if exact < aim_percent else (2, "no reason to lengthen")
    told = f"{failed} of {tested} failed; the {bound}: {says}."
    return FailureRate(
        failed,
        tested,
        number_rounded(exact, 2),
        low,
        high,
        most,
        told,
        most < aim_percent,
        against,
        describe_percent(exact, aim_percent),
        most_text,
        f"{lower_text} to {describe_percent(high, aim_percent)}",
    )


def check_two_percent(failed: int, tested: int, area: Area | None = None) -> TwoPercentRule:
    """Apply the German rule: below 2.0 % failures the interval may be lengthened, up to a ceiling by place.

    Items thrown out at the visual inspection count as failures. Exactly 2 % is not below. Raises ValueError for
    impossible counts.
    """
    _check_counts(failed, tested)
    percent = Decimal(100 * failed) / tested
    below = 100 * failed < 2 * tested
    most = CEILING_MONTHS[area] if below and area is not None else None
    text = describe_percent(percent)
    if below:
        ceiling = f", up to {most} months" if most else ""
        says = f"below 2 %: the interval may be lengthened{ceiling}"
    elif 100 * failed == 2 * tested:
        says = "exactly 2 % is not below 2 %: the interval stays"
    else:
        says = "not below 2 %: look for the causes; a shorter interval is advised, not automatic"
    bound = 100 * limit_failure_probability(failed, tested)
    beside = f"the exact one-sided 95 % upper bound is {describe_percent(bound)}"
    few = tested < FEW_TESTS or (below and bound >= TWO_PERCENT)
    small = f"Small counts mislead: {beside}." if few else f"{beside[0].upper()}{beside[1:]}."
    if failed == tested:
        small = "Small counts mislead." if few else ""
    told = f"{failed} of {tested} failed, {text}: {says} (German rule, DGUV Vorschrift 3). {small}".rstrip()
    return TwoPercentRule(number_rounded(percent, 2), below, below, most, told, text, describe_percent(bound))


def total_failures(measured: int, thrown_out_at_visual: int) -> int:
    """Count failures: those measured and those thrown out at the visual inspection (DGUV Information 203-071)."""
    return measured + thrown_out_at_visual


def list_group_rates(groups: Iterable[tuple[str, int, int]]) -> tuple[dict[str, Decimal], Decimal, bool]:
    """List the rate in percent of each group (name, failed, tested), the pooled rate, and whether it may be used.

    Only like places are counted together (DGUV Regel 115-401), so the pooled rate may be used for one group only.
    """
    known = list(groups)
    rates = {name: number_rounded(Decimal(100 * failed) / tested, 2) for name, failed, tested in known}
    failed_total, tested_total = sum(each[1] for each in known), sum(each[2] for each in known)
    return rates, number_rounded(Decimal(100 * failed_total) / tested_total, 2), len(known) == 1


def _check_counts(failed: int, tested: int) -> None:
    if tested < 1 or not 0 <= failed <= tested:
        raise ValueError("At least one item must have been tested, and not more can have failed than were tested.")


def _beta_quantile(probability: float, a: float, b: float) -> float:
    """The value below which a beta distribution lies with this probability, by halving the interval."""
    low, high = 0.0, 1.0
    for _ in range(100):
        middle = (low + high) / 2
        if _beta_cumulative(middle, a, b) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _beta_cumulative(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function, by its continued fraction (NIST DLMF 8.17.22)."""
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _beta_cumulative(1 - x, b, a)
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    tiny = 1e-300
    # Lentz's method: each turn takes the next two partial numerators.
    c, d = 1.0, 1.0 / max(1 - (a + b) * x / (a + 1), tiny)
    value = d
    for m in range(1, 1000):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 / ((1 + numerator * d) or tiny)
            c = (1 + numerator / c) or tiny
            value *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    return math.exp(log_front) * value / a
