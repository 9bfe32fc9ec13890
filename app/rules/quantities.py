"""A reading: a number, its unit, and whether the instrument showed it exactly or only as "more than" or "less than".

All arithmetic is decimal, so a change of unit never changes a digit.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal, InvalidOperation
from enum import StrEnum


class Unit(StrEnum):
    MILLIOHM = "mohm"
    OHM = "ohm"
    KILOHM = "kohm"
    MEGOHM = "Mohm"
    GIGAOHM = "Gohm"
    MICROAMP = "uA"
    MILLIAMP = "mA"
    AMP = "A"
    VOLT = "V"
    WATT = "W"
    KILOWATT = "kW"
    VOLT_AMP = "VA"
    MILLISECOND = "ms"
    SECOND = "s"
    WATT_PER_M2 = "W/m2"
    MILLIWATT_PER_CM2 = "mW/cm2"

    @property
    def symbol(self) -> str:
        return _SYMBOLS[self]

    @property
    def dimension(self) -> str:
        """What is measured: resistance, current, voltage, power, time or power density."""
        return _SCALES[self][0]

    @property
    def power(self) -> int:
        """The power of ten against the first unit of its dimension."""
        return _SCALES[self][1]


class Bound(StrEnum):
    """How a number is to be read: as it stands, as "more than it" (over-range) or "less than it" (under-range)."""

    EXACT = "exact"
    ABOVE = "above"
    BELOW = "below"

    @property
    def sign(self) -> str:
        return {"above": "> ", "below": "< "}.get(self.value, "")


_SYMBOLS = {
    Unit.MILLIOHM: "mΩ", Unit.OHM: "Ω", Unit.KILOHM: "kΩ", Unit.MEGOHM: "MΩ", Unit.GIGAOHM: "GΩ",
    Unit.MICROAMP: "µA", Unit.MILLIAMP: "mA", Unit.AMP: "A", Unit.VOLT: "V", Unit.WATT: "W",
    Unit.KILOWATT: "kW", Unit.VOLT_AMP: "VA", Unit.MILLISECOND: "ms", Unit.SECOND: "s",
    Unit.WATT_PER_M2: "W/m²", Unit.MILLIWATT_PER_CM2: "mW/cm²",
}  # fmt: skip

# Dimension and power of ten against the first unit of that dimension. A load in VA is compared with a rating in
# W as it stands, so both are "power".
_SCALES = {
    Unit.MILLIOHM: ("resistance", -3), Unit.OHM: ("resistance", 0), Unit.KILOHM: ("resistance", 3),
    Unit.MEGOHM: ("resistance", 6), Unit.GIGAOHM: ("resistance", 9),
    Unit.MICROAMP: ("current", -6), Unit.MILLIAMP: ("current", -3), Unit.AMP: ("current", 0),
    Unit.VOLT: ("voltage", 0),
    Unit.WATT: ("power", 0), Unit.KILOWATT: ("power", 3), Unit.VOLT_AMP: ("power", 0),
    Unit.MILLISECOND: ("time", -3), Unit.SECOND: ("time", 0),
    Unit.WATT_PER_M2: ("power density", 0), Unit.MILLIWATT_PER_CM2: ("power density", 1),
}  # fmt: skip

# Larger numbers than these come from a slip of the finger, not from an instrument (in ohm, A, V, W, s, W/m²).
_LARGEST = {
    "resistance": Decimal(10) ** 12, "current": Decimal(1000), "voltage": Decimal(100_000),
    "power": Decimal(1_000_000), "time": Decimal(1000), "power density": Decimal(100_000),
}  # fmt: skip

_SPELLINGS = {symbol: unit for unit, symbol in _SYMBOLS.items()} | {unit.value: unit for unit in Unit} | {
    "ohms": Unit.OHM, "Ohm": Unit.OHM, "Ohms": Unit.OHM, "OHM": Unit.OHM, "megohm": Unit.MEGOHM,
    "megohms": Unit.MEGOHM, "MOhm": Unit.MEGOHM, "kOhm": Unit.KILOHM, "mOhm": Unit.MILLIOHM, "GOhm": Unit.GIGAOHM,
    "ma": Unit.MILLIAMP, "ua": Unit.MICROAMP, "a": Unit.AMP, "v": Unit.VOLT, "w": Unit.WATT, "kw": Unit.KILOWATT,
    "KW": Unit.KILOWATT, "va": Unit.VOLT_AMP, "Va": Unit.VOLT_AMP, "S": Unit.SECOND, "sec": Unit.SECOND,
    "msec": Unit.MILLISECOND, "mW/cm^2": Unit.MILLIWATT_PER_CM2, "W/m^2": Unit.WATT_PER_M2,
}  # fmt: skip

#: No instrument shows so many. With more than 28 a change of unit would round: decimals keep that many (PEP 327).
DIGITS_MOST = 20

_SHAPE = re.compile(
    r"(?P<bound>[<>]?)\s*(?P<number>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*(?P<unit>[^\s0-9<>.,+-][^\s<>]*)?"
)
_TWO_WAYS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


@dataclass(frozen=True)
class Reading:
    """One measured value. For bound above or below, the true value lies beyond the number."""

    value: Decimal
    unit: Unit
    bound: Bound = Bound.EXACT

    @property
    def text(self) -> str:
        return f"{self.bound.sign}{self.value:f} {self.unit.symbol}"


def convert_number(value: Decimal, unit: Unit, to: Unit) -> Decimal:
    """Convert a number between two units of one dimension, exactly. Raises ValueError for different dimensions."""
    if unit is to:
        return value
    dimension, power = _SCALES[unit]
    to_dimension, to_power = _SCALES[to]
    if dimension != to_dimension:
        raise ValueError(f"{unit.symbol} measures {dimension}; {to_dimension} in {to.symbol} is needed.")
    return value.scaleb(power - to_power)


def convert_reading(reading: Reading, unit: Unit) -> Reading:
    """Convert a reading to another unit of the same dimension, exactly. Raises ValueError for another dimension."""
    return Reading(convert_number(reading.value, reading.unit, unit), unit, reading.bound)


def convert_for_lead(reading: Reading, lead: Reading) -> Reading:
    """Subtract the resistance of the test lead from a reading that the instrument has not already nulled.

    Raises ValueError when the lead is bigger than the reading (the lead was measured wrongly, or nulled already)
    or is not known exactly.
    """
    if lead.bound is not Bound.EXACT:
        raise ValueError("The resistance of the test lead must be an exact value, not more or less than one.")
    net = reading.value - convert_number(lead.value, lead.unit, reading.unit)
    if net < 0:
        raise ValueError(
            f"The test lead ({lead.text}) is bigger than the reading ({reading.text}). Measure the lead again, "
            "and check that the instrument has not already subtracted it."
        )
    return Reading(net, reading.unit, reading.bound)


def check_size(value: Decimal, unit: Unit) -> None:
    """Refuse a number that no instrument shows: negative, not finite, or absurdly large (ValueError)."""
    if not value.is_finite():
        raise ValueError("That is not a number.")
    if value < 0:
        raise ValueError("A reading cannot be below zero.")
    if convert_number(value, unit, _base(unit)) > _LARGEST[unit.dimension]:
        raise ValueError(
            f"{value:f} {unit.symbol} is too large to be a reading. Look at the unit and the decimal point."
        )


def parse_reading(text: str, unit: Unit) -> Reading:
    """Read what was typed ("0,21", "0.21 Ω", "> 20 MΩ", "210 mΩ") as a reading in the field's unit.

    Raises ValueError with a sentence for the person who typed it.
    """
    typed = _tidy(text)
    if not typed:
        raise ValueError(f"Type the reading, such as 0.21 {unit.symbol}.")
    match = _SHAPE.fullmatch(typed) if len(typed) <= 40 else None
    if len(typed) > 40 or (match and len(match["number"]) > DIGITS_MOST):
        raise ValueError("That is too long to be a reading.")
    if match is None:
        raise ValueError(_explain(typed, unit))
    value = _decimal(match["number"])
    typed_unit = unit
    if match["unit"]:
        found = _SPELLINGS.get(match["unit"])
        if found is None:
            raise ValueError(f"“{match['unit']}” is not a unit known here. Use {unit.symbol}.")
        typed_unit = found
    bound = {">": Bound.ABOVE, "<": Bound.BELOW}.get(match["bound"], Bound.EXACT)
    if bound is Bound.BELOW and value == 0:
        raise ValueError("A reading cannot be below zero.")
    check_size(value, typed_unit)
    return convert_reading(Reading(value, typed_unit, bound), unit)


def parse_number(
    text: str, *, least: Decimal = Decimal(0), most: Decimal = Decimal(1_000_000), places: int = 6, unit: str = ""
) -> Decimal:
    """Read a plain decimal from a form ("1,5", "1.5", "1.5 m" when unit is "m"), between least and most.

    Raises ValueError with a sentence for the person who typed it.
    """
    typed = _tidy(text)
    if unit and typed.endswith(unit):
        typed = typed[: -len(unit)].strip()
    if not typed:
        raise ValueError("Type a number.")
    if typed.startswith("-"):
        raise ValueError("The number cannot be below zero.")
    if len(typed) > 40 or not re.fullmatch(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+", typed):
        raise ValueError("Type a number such as 1.5, with one decimal point.")
    value = _decimal(typed)
    if value < least:
        raise ValueError(f"The number must be at least {least.normalize():f}.")
    if value > most:
        raise ValueError(f"The number must be at most {most.normalize():f}.")
    if -int(value.as_tuple().exponent) > places:
        raise ValueError(f"At most {places} decimals, please.")
    return value


def list_spellings() -> tuple[dict[str, Unit], dict[str, Decimal]]:
    """List the ways in which a unit may be written, and the largest number that is a reading, by dimension."""
    return dict(_SPELLINGS), dict(_LARGEST)


def number_rounded(value: Decimal, places: int = 6) -> Decimal:
    """Round half up to so many decimals; a number with fewer is left as it is."""
    if len(f"{value:f}".partition(".")[2]) <= places:
        return value
    return value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def describe_number(value: Decimal, places: int = 6) -> str:
    """Write a number plainly: no exponent, no needless zeros, rounded half up to so many decimals."""
    text = f"{value:f}"
    if len(text.partition(".")[2]) > places:
        text = f"{value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


#: So many significant digits of a limit are shown at most; whole numbers are never cut.
_SHOWN_DIGITS = 4


def number_shown(value: Decimal, *, upper: bool) -> Decimal:
    """Round a limit for show to at most four significant digits, to its strict side: an upper one down, a lower one up.
    So a reading equal to what is shown always passes; judging takes the exact figure.
    """
    finest = min(0, value.adjusted() + 1 - _SHOWN_DIGITS)
    if int(value.as_tuple().exponent) >= finest:
        return value
    return value.quantize(Decimal(1).scaleb(finest), ROUND_FLOOR if upper else ROUND_CEILING)


def describe_bound(value: Decimal, *, upper: bool) -> str:
    """Write a limit as it is shown (see number_shown)."""
    return describe_number(number_shown(value, upper=upper), 12)


_BASES = {dimension: unit for unit, (dimension, power) in reversed(_SCALES.items()) if power == 0}


def _base(unit: Unit) -> Unit:
    return _BASES[unit.dimension]


def _tidy(text: str) -> str:
    """Spaces of every kind become one plain space; the two signs for ohm and for micro become one each."""
    return " ".join(text.replace("\u2126", "Ω").replace("\u03bc", "µ").split())


def _decimal(number: str) -> Decimal:
    if _TWO_WAYS.fullmatch(number):
        plain = number.replace(",", "")
        raise ValueError(f"{number} can be read in two ways. Write {plain} or {number.replace(',', '.')}.")
    try:
        return Decimal(number.replace(",", "."))
    except InvalidOperation as error:
        raise ValueError("That is not a number.") from error


def _explain(typed: str, unit: Unit) -> str:
    if typed.lstrip("<> ").startswith(("-", "\u2212")):
        return "A reading cannot be below zero."
    if typed.startswith(("≥", "≤", ">=", "<=")):
        return "Use > for more than the range of the instrument, or < for less."
    if re.fullmatch(r"[<>]?\s*[0-9.,' ]+\D*", typed):
        return "Use one decimal point and no separators between thousands, such as 1000 or 0.21."
    return f"That is not a number. Type one such as 0.21 {unit.symbol}, or > 20 {unit.symbol} when over range."
