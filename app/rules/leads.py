"""Extension leads and reels: how long by conductor size, the loop they add, and what a reel takes away.

The figures stand in rulebooks/fuses_and_cords; the lengths are recommendations.
"""

from decimal import Decimal

from app.rules.conductors import number_per_metre
from app.rules.equipment import Reel
from app.rules.rulebooks.fuses_and_cords import (
    LARGEST_LOOP,
    LEAD_LENGTHS,
    REEL_LAYERS,
    REEL_RADIAL,
    REEL_RADIAL_CLOSED,
)


def limit_lead_length(csa_mm2: Decimal) -> Decimal | None:
    """Give the longest recommended extension lead in m for a conductor size, None where no source names one."""
    figure = LEAD_LENGTHS.get(csa_mm2)
    return None if figure is None else figure.value


def number_loop_resistance(csa_mm2: Decimal, length_m: Decimal) -> Decimal | None:
    """Give the resistance in Ω of line and protective conductor together; None for a size in no table."""
    per_metre = number_per_metre(csa_mm2)
    return None if per_metre is None else 2 * per_metre * length_m


def number_reel_factor(reel: Reel) -> Decimal | None:
    """Give the factor on the cord's rated current while wound up; None where no source names one.

    A closed cylindrical reel has no published factor here, nor has one of more than four layers.
    """
    if reel.radial:
        return REEL_RADIAL.value if reel.ventilated else REEL_RADIAL_CLOSED.value
    figure = REEL_LAYERS.get(reel.layers) if reel.ventilated else None
    return None if figure is None else figure.value


def may_clear_fault(csa_mm2: Decimal, length_m: Decimal) -> bool | None:
    """Say whether the lead's own loop leaves the loop that a 13 A fuse needs; None for a size in no table."""
    loop = number_loop_resistance(csa_mm2, length_m)
    return None if loop is None else loop <= LARGEST_LOOP.value
