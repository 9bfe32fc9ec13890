"""The uncertainty of an instrument's reading, from its maker's specification or from the operating uncertainty that a
standard allows.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from app.rules.checks import Check
from app.rules.quantities import Reading, Unit, convert_number, describe_number, number_rounded

# EN 61557-16:2015 allows the instruments of this work up to 30 % of the reading.
OPERATING_UNCERTAINTY = Decimal("0.3")
# An expanded uncertainty is told for k = 2, about 95 % (JCGM 100:2008, 6.2 and 6.3).
USUAL_COVERAGE = Decimal(2)


@dataclass(frozen=True)
class MeasuringRange:
    """One function and range of an instrument: uncertainty percent of the reading, plus digits of the resolution, plus
    a fixed amount.

    least, most, resolution and absolute are in unit. coverage is the factor k for which the uncertainty is told.
    """

    check: Check
    unit: Unit
    least: Decimal
    most: Decimal
    percent: Decimal
    digits: Decimal
    resolution: Decimal
    absolute: Decimal = Decimal(0)
    coverage: Decimal = USUAL_COVERAGE


def number_uncertainty(reading: Decimal, percent: Decimal, digits: Decimal, resolution: Decimal) -> Decimal:
    """Give the uncertainty of a reading: so many percent of it plus so many digits of the resolution."""
    return reading * percent / 100 + digits * resolution


def number_range_uncertainty(each: MeasuringRange, value: Decimal) -> Decimal:
    """Give the expanded uncertainty (k = 2) of a value of a range, in the range's unit."""
    told = number_uncertainty(value, each.percent, each.digits, each.resolution) + each.absolute
    return told if each.coverage == USUAL_COVERAGE else number_rounded(told * USUAL_COVERAGE / each.coverage, 9)


def describe_range_uncertainty(each: MeasuringRange) -> str:
    """Describe how the uncertainty of a range is told: "2 % of the reading + 5 digits of 0.01 Ω"."""
    symbol = each.unit.symbol
    parts = [
        f"{describe_number(each.percent)} % of the reading" if each.percent else "",
        f"{describe_number(each.digits)} {'digit' if each.digits == 1 else 'digits'} of "
        f"{describe_number(each.resolution)} {symbol}"
        if each.digits
        else "",
        f"{describe_number(each.absolute)} {symbol}" if each.absolute else "",
    ]
    return " + ".join(part for part in parts if part)


def describe_range(each: MeasuringRange) -> str:
    """Describe a range whole: "0 Ω to 20 Ω, ± (2 % of the reading + 5 digits of 0.01 Ω) for k = 2"."""
    ends = " to ".join(f"{describe_number(end)} {each.unit.symbol}" for end in (each.least, each.most))
    return f"{ends}, ± ({describe_range_uncertainty(each)}) for k = {describe_number(each.coverage)}"


def describe_range_example(each: MeasuringRange) -> str:
    """Work the uncertainty of one reading of the range, in numbers: half of its end, but not below its beginning."""
    symbol = each.unit.symbol
    value = max(each.most / 2, each.least)
    told = number_uncertainty(value, each.percent, each.digits, each.resolution) + each.absolute
    parts = [
        f"{describe_number(value)} × {describe_number(each.percent)} / 100" if each.percent else "",
        f"{describe_number(each.digits)} × {describe_number(each.resolution)}" if each.digits else "",
        describe_number(each.absolute) if each.absolute else "",
    ]
    worked = " + ".join(part for part in parts if part) + " = " if each.percent or each.digits else ""
    sentence = f"At {describe_number(value)} {symbol}: {worked}±\u00a0{describe_number(told)} {symbol}"
    if each.coverage == USUAL_COVERAGE:
        return f"{sentence} (k = 2)."
    expanded = describe_number(number_range_uncertainty(each, value))
    k = describe_number(each.coverage)
    return f"{sentence} for k = {k}, so × 2 / {k} = ±\u00a0{expanded} {symbol} for k = 2."


def list_ranges_for(ranges: Iterable[MeasuringRange], check: Check, unit: Unit) -> list[MeasuringRange]:
    """List the ranges of an instrument for a check that is told in this unit or one like it."""
    return [each for each in ranges if each.check is check and each.unit.dimension == unit.dimension]


def number_reading_uncertainty(ranges: Iterable[MeasuringRange], check: Check, reading: Reading) -> Decimal | None:
    """Give the expanded uncertainty of a reading in the reading's own unit, by the finest range that holds it.

    None where the instrument has no range for it.
    """
    found: list[Decimal] = []
    for each in list_ranges_for(ranges, check, reading.unit):
        value = convert_number(reading.value, reading.unit, each.unit)
        if each.least <= value <= each.most:
            found.append(convert_number(number_range_uncertainty(each, value), each.unit, reading.unit))
    return min(found, default=None)


def limit_with_operating_uncertainty(
    limit: Decimal, relative: Decimal = OPERATING_UNCERTAINTY, *, upper: bool = True
) -> Decimal:
    """Give the reading up to which (or from which, for a lower limit) a limit is surely met when the instrument may
    be wrong by this share of its reading.
    """
    return number_rounded(limit / (1 + relative) if upper else limit / (1 - relative), 6)
