"""The resistance of a cord's protective conductor, from its size and length, at 20 °C or at another temperature."""

from dataclasses import dataclass
from decimal import Decimal

from app.rules.equipment import Cord
from app.rules.quantities import describe_number, number_rounded
from app.rules.rulebooks.conductors import PLAIN, TINNED, TO_20C
from app.rules.rulebooks.figures import UNCHECKED, Status

# Beyond these no cord in use is thinner or longer, so a reading that even they cannot explain has failed.
# Chosen for Ohmstead (common practice, no source).
THINNEST_MM2 = Decimal("0.5")
LONGEST_M = Decimal(100)


@dataclass(frozen=True)
class CordResistance:
    """ohms is the resistance of the conductor; working how it came about; per_metre in Ω/m."""

    ohms: Decimal
    per_metre: Decimal
    working: str
    source: str
    status: Status


def number_per_metre(csa_mm2: Decimal, tinned: bool = False) -> Decimal | None:
    """Give the resistance in Ω/m at 20 °C of a conductor of this size, None where the tables have no such size."""
    figure = (TINNED if tinned else PLAIN).get(csa_mm2)
    return None if figure is None else figure.value / 1000


def number_temperature_factor(temperature_c: Decimal) -> Decimal:
    """Give the factor that brings a resistance at this temperature back to 20 °C (R20 = Rt × factor).

    Between two rows of the table it is interpolated. Raises ValueError outside 5 to 40 °C.
    """
    if not TO_20C[0][0] <= temperature_c <= TO_20C[-1][0]:
        raise ValueError(f"Temperature factors are known from {TO_20C[0][0]} to {TO_20C[-1][0]} °C.")
    for (low, factor), (high, next_factor) in zip(TO_20C, TO_20C[1:], strict=False):
        if low <= temperature_c <= high:
            return factor + (next_factor - factor) * (temperature_c - low) / (high - low)
    raise ValueError("Temperature factors are known from 5 to 40 °C.")  # pragma: no cover - the table is closed


def limit_cord_resistance(cord: Cord, temperature_c: Decimal | None = None) -> CordResistance | None:
    """Work out the highest resistance that this cord's conductor should have; None where size or length is missing
    or the size is in no table. temperature_c is that of the conductor; None means 20 °C.
    """
    if cord.csa_mm2 is None or cord.length_m is None:
        return None
    figure = (TINNED if cord.tinned else PLAIN).get(cord.csa_mm2)
    if figure is None:
        return None
    per_metre = figure.value / 1000
    size = f"{describe_number(cord.csa_mm2)} mm²" + (" tinned" if cord.tinned else "")
    if figure.status is Status.SEEN:
        source, text = "IEC 60228", f"(IEC 60228, {size})"
    else:
        source, text = figure.source, f"(UK flex tables, {size}; {UNCHECKED})"
    warm = ""
    if temperature_c is not None and temperature_c != 20:
        factor = number_temperature_factor(temperature_c)
        warm = f" ÷ {describe_number(factor, 4)} at {describe_number(temperature_c)} °C"
        ohms = number_rounded(cord.length_m * per_metre / factor)
        per_metre = number_rounded(per_metre / factor, 9)
    else:
        ohms = cord.length_m * per_metre
    shown = f"{describe_number(cord.length_m)} m × {_at_least_four(figure.value / 1000)} Ω/m{warm} {text}"
    return CordResistance(ohms, per_metre, shown, source, figure.status)


def _at_least_four(value: Decimal) -> str:
    """Four decimals or as many as the table gives, as resistances per metre are written."""
    return f"{value:.4f}" if value == value.quantize(Decimal("0.0001")) else f"{value.normalize():f}"
