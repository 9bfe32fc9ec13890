"""Figures that hold under every rulebook here: microwave leakage, the dielectric test, the test voltage for
insulation, and those of the modules for loads, conductors, fuses and cords, and trip times.
"""

from decimal import Decimal

from app.rules.quantities import Unit
from app.rules.rulebooks import fuses_and_cords, loads, trip_times
from app.rules.rulebooks.conductors import PLAIN, TINNED
from app.rules.rulebooks.figures import Figure, Status

MICROWAVE = Figure(
    "microwave", Decimal(50), Unit.WATT_PER_M2,
    "at any point 50 mm or more from the outer surface",
    "EN 60335-2-25", "as quoted in the trade",
    note="The UK Code of Practice left this measurement out from its 4th edition on (from memory); it is not a "
    "test of electrical safety and is made only where the firm uses it.",
)  # fmt: skip

SEPARATION = Figure(
    "insulation.separation", Decimal(2), Unit.MEGOHM, "safe separation of mains and output, such as a transformer",
    "DGUV Information 203-071, annex 5", "",
)  # fmt: skip

DIELECTRIC = Figure(
    "dielectric.current", Decimal(5), Unit.MILLIAMP,
    "current at which the test counts as broken down",
    "common practice for production and after-repair tests", "", Status.MEMORY,
    note="Not part of routine in-service testing; can harm insulation and electronics.",
)  # fmt: skip

VOLTS_USUAL = Figure(
    "insulation.volts", Decimal(500), Unit.VOLT, "d.c. test voltage for insulation, not below", "EN 50699, 5.4",
    "as quoted in the UK national foreword",
)  # fmt: skip
VOLTS_GENTLE = Figure(
    "insulation.volts.gentle", Decimal(250), Unit.VOLT,
    "d.c. test voltage for insulation where surge protection or electronics could be harmed", "EN 50699, 5.4",
    "as quoted in the UK national foreword",
)  # fmt: skip

SHARED: tuple[Figure, ...] = (
    VOLTS_USUAL, VOLTS_GENTLE, SEPARATION, *loads.FIGURES, *PLAIN.values(), *TINNED.values(), *fuses_and_cords.FIGURES,
    *trip_times.FIGURES,
)  # fmt: skip
