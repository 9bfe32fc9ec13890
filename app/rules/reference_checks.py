"""The check of an instrument against something whose value is known: what is checked, how often, and whether what the
instrument shows is near enough. The tolerances and the days between two checks are the firm's own.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from app.rules.checks import UNITS, Check
from app.rules.quantities import Bound, Reading, Unit, convert_reading, describe_number
from app.rules.trends import Measured, describe_trend

EVERY_DAYS_MOST = 1830
PERCENT_MOST = Decimal(100)


class Allowed(StrEnum):
    """How the tolerance of a reference item is told."""

    PERCENT = "percent"
    ABSOLUTE = "absolute"

    @property
    def word(self) -> str:
        return {"percent": "per cent of the nominal value", "absolute": "in the unit of the nominal value"}[self.value]


@dataclass(frozen=True)
class ReferenceDetails:
    """One reference item: a known value for one function, and how far from it the instrument may show.

    nominal is in unit; tolerance is in per cent of nominal, or in unit where allowed is absolute.
    """

    name: str
    check: Check
    nominal: Decimal
    unit: Unit
    tolerance: Decimal
    allowed: Allowed = Allowed.PERCENT
    every_days: int = 30
    active: bool = True


@dataclass(frozen=True)
class ReferenceVerdict:
    """reading, low and high are in the unit of the reference item; margin is what is left to the nearer end of the
    band, negative outside, None where the instrument showed no exact number.
    """

    passed: bool
    reading: Reading
    low: Decimal
    high: Decimal
    margin: Decimal | None
    working: str
    sentence: str


def check_reference_details(details: ReferenceDetails) -> dict[str, str]:
    """What is wrong with a reference item, by field name."""
    mistakes = {} if details.name.strip() else {"name": "Give it a name, such as “1 Ω resistor in the check box”."}
    if details.check not in UNITS:
        mistakes["check"] = "Choose a check that is measured."
    elif details.unit.dimension != UNITS[details.check].dimension:
        mistakes["unit"] = f"The {details.check.word} is measured in {UNITS[details.check].symbol} or a multiple of it."
    if details.nominal <= 0:
        mistakes["nominal"] = "Give the known value; it must be above zero."
    if details.tolerance <= 0:
        mistakes["tolerance"] = "Give how far from the known value the instrument may show; it must be above zero."
    elif details.allowed is Allowed.PERCENT and details.tolerance >= PERCENT_MOST:
        mistakes["tolerance"] = f"The tolerance must be below {PERCENT_MOST} %."
    elif details.allowed is Allowed.ABSOLUTE and details.nominal > 0 and details.tolerance >= details.nominal:
        mistakes["tolerance"] = "The tolerance must be smaller than the known value."
    if not 1 <= details.every_days <= EVERY_DAYS_MOST:
        mistakes["every_days"] = f"Give a number of days from 1 to {EVERY_DAYS_MOST}."
    return mistakes


def number_tolerance(details: ReferenceDetails) -> Decimal:
    """Give how far the instrument may show from the nominal value, in the unit of the reference item."""
    if details.allowed is Allowed.PERCENT:
        return details.nominal * details.tolerance / 100
    return details.tolerance


def limit_reference_band(details: ReferenceDetails) -> tuple[Decimal, Decimal]:
    """Give the lowest and the highest reading that pass, in the unit of the reference item."""
    tolerance = number_tolerance(details)
    return details.nominal - tolerance, details.nominal + tolerance


def describe_reference_band(details: ReferenceDetails) -> str:
    """Describe the band that passes: "1 Ω ± 5 % = 0.95 Ω to 1.05 Ω"."""
    low, high = limit_reference_band(details)
    symbol = details.unit.symbol
    tolerance = describe_number(details.tolerance)
    told = f"{tolerance} %" if details.allowed is Allowed.PERCENT else f"{tolerance} {symbol}"
    nominal = f"{describe_number(details.nominal)} {symbol}"
    return f"{nominal} ± {told} = {describe_number(low)} {symbol} to {describe_number(high)} {symbol}"


def judge_reference_check(details: ReferenceDetails, shown: Reading) -> ReferenceVerdict:
    """Judge what the instrument shows against a reference item; both ends of the band pass.

    Raises ValueError for a reading of another dimension, and for one shown only as more or less than a number that
    does not say on which side of the band it lies.
    """
    reading = convert_reading(shown, details.unit)
    low, high = limit_reference_band(details)
    band, symbol = describe_reference_band(details), details.unit.symbol
    if reading.bound is not Bound.EXACT:
        beyond = reading.value >= high if reading.bound is Bound.ABOVE else reading.value <= low
        if not beyond:
            raise ValueError("Enter the number that the instrument shows; “more than” or “less than” cannot be judged.")
        return ReferenceVerdict(False, reading, low, high, None, band, f"{reading.text} is outside {band}: fail.")
    margin = min(reading.value - low, high - reading.value)
    passed = margin >= 0
    amount = f"{describe_number(abs(margin))} {symbol}"
    if passed:
        how = f"pass, {amount} to spare" if margin else "pass, exactly at the end of the band"
    else:
        how = f"fail, {amount} {'below' if reading.value < low else 'above'} it"
    return ReferenceVerdict(passed, reading, low, high, margin, band, f"{reading.text}, band {band}: {how}.")


def describe_reference_history(details: ReferenceDetails, history: Sequence[tuple[date, Decimal, Bound, bool]]) -> str:
    """Say in one sentence what the checks of a reference item show. history is (day, value in unit, bound, passed)."""
    if not history:
        return "Not checked yet."
    failed = sum(not passed for *_, passed in history)
    count = f"{len(history)} check{'' if len(history) == 1 else 's'}"
    found = "all within tolerance" if not failed else f"{failed} outside tolerance"
    if len(history) == 1:
        found = "within tolerance" if not failed else "outside tolerance"
    exact = [Measured(day, value) for day, value, bound, _ in history if bound is Bound.EXACT]
    low, high = limit_reference_band(details)
    rising = describe_trend(exact, details.unit, at_most=high)
    if rising is None:
        return f"{count}, {found}. A drift is worked out from five checks on different days."
    if rising.low <= 0 <= rising.high:
        return f"{count}, {found}; no drift can be told from the scatter."
    trend = rising if rising.slope > 0 else describe_trend(exact, details.unit, at_least=low)
    assert trend is not None
    slope = f"{describe_number(abs(trend.slope), 4)} {details.unit.symbol} a year"
    way, end = ("upwards", high) if trend.slope > 0 else ("downwards", low)
    sentence = f"{count}, {found}; they drift {way} by about {slope}"
    if trend.meets_on is not None and trend.meets_on > history[-1][0]:
        sentence += f" and at that rate meet {describe_number(end)} {details.unit.symbol} about {trend.meets_on:%B %Y}"
    return f"{sentence}."
