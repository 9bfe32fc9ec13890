"""Up to which reading a limit is met for sure: the acceptance limit, told before anything is measured.

The uncertainty of an instrument grows with its reading, so the acceptance limit is where reading and uncertainty
together reach the limit (ILAC-G8:09/2019, 4.2.2, with w = U).
"""

from collections.abc import Iterable
from decimal import Decimal

from app.rules.checks import Check
from app.rules.limits import Limit
from app.rules.quantities import Reading, convert_number, describe_number, number_shown
from app.rules.uncertainties import (
    MeasuringRange,
    list_ranges_for,
    number_range_uncertainty,
    number_reading_uncertainty,
)


def number_accepted(
    limit: Decimal, check: Check, ranges: Iterable[MeasuringRange], of: Limit, *, upper: bool
) -> Decimal | None:
    """Give the reading up to (or from) which a limit is met with its uncertainty, in the limit's unit, to 4 figures on
    the safe side; None where no range of the instrument holds it.
    """
    known = list_ranges_for(ranges, check, of.unit)
    for each in known:
        bound = convert_number(limit, of.unit, each.unit)
        fixed = number_range_uncertainty(each, Decimal(0))
        share = (number_range_uncertainty(each, Decimal(1)) - fixed) * (1 if upper else -1)
        if share <= -1:
            continue
        value = (bound - fixed if upper else bound + fixed) / (1 + share)
        if not each.least <= value <= each.most:
            continue
        finest = number_reading_uncertainty(known, check, Reading(value, each.unit))
        if finest is not None and abs(finest - number_range_uncertainty(each, value)) < Decimal("1e-9"):
            return number_shown(convert_number(value, each.unit, of.unit), upper=upper)
    return None


def describe_accepted(limit: Limit, check: Check, ranges: tuple[MeasuringRange, ...]) -> str:
    """Say after a limit what of it is accepted without condition; that it is compared directly where nobody knows."""
    told = []
    for bound, upper in ((limit.at_least, False), (limit.at_most, True)):
        if bound is None:
            continue
        accepted = number_accepted(bound, check, ranges, limit, upper=upper)
        if accepted is None:
            return "; compared directly, since the uncertainty of the instrument here is not on record"
        told.append(f"{'up to' if upper else 'from'} {describe_number(accepted, 12)}")
    return f"; accepted {' '.join(told)} {limit.unit.symbol}" if told else ""
