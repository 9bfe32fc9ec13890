"""The uncertainty of an instrument's reading, from its maker's specification or from the operating uncertainty that a
standard allows.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from app.rules.checks import Check
from app.rules.quantities import Reading, Unit, convert_number, number_rounded

# EN 61557-16:2015 allows the instruments of this work up to 30 % of the reading.
OPERATING_UNCERTAINTY = Decimal("0.3")


@dataclass(frozen=True)
class MeasuringRange:
    """One function and range of an instrument: uncertainty percent of the reading plus digits of the resolution.

    least, most and resolution are in unit; what comes out is taken as an expanded uncertainty (k = 2).
    """

    check: Check
    unit: Unit
    least: Decimal
    most: Decimal
    percent: Decimal
    digits: Decimal
    resolution: Decimal


def number_uncertainty(reading: Decimal, percent: Decimal, digits: Decimal, resolution: Decimal) -> Decimal:
    """Give the uncertainty of a reading: so many percent of it plus so many digits of the resolution."""
    return reading * percent / 100 + digits * resolution


def number_reading_uncertainty(ranges: Iterable[MeasuringRange], check: Check, reading: Reading) -> Decimal | None:
    """Give the expanded uncertainty of a reading in the reading's own unit, by the finest range that holds it.

    None where the instrument has no range for it.
    """
    found: list[Decimal] = []
    for each in ranges:
        if each.check is not check or each.unit.dimension != reading.unit.dimension:
            continue
        value = convert_number(reading.value, reading.unit, each.unit)
        if each.least <= value <= each.most:
            own = number_uncertainty(value, each.percent, each.digits, each.resolution)
            found.append(convert_number(own, each.unit, reading.unit))
    return min(found, default=None)


def limit_with_operating_uncertainty(
    limit: Decimal, relative: Decimal = OPERATING_UNCERTAINTY, *, upper: bool = True
) -> Decimal:
    """Give the reading up to which (or from which, for a lower limit) a limit is surely met when the instrument may
    be wrong by this share of its reading.
    """
    return number_rounded(limit / (1 + relative) if upper else limit / (1 - relative), 6)
