"""Items and entries that several tests of the rules judge."""

from decimal import Decimal

from app.rules.checks import UNITS, Check
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd
from app.rules.quantities import parse_reading
from app.rules.readings import Entry, Trip
from app.rules.rulebooks import rulebook_named
from app.rules.verdicts import Outcome

UK = rulebook_named("uk-2012")
UK_2020 = rulebook_named("uk-2020")
EN = rulebook_named("en-50699")

CORD = Cord(Decimal("0.75"), Decimal("1.5"), moulded_plug=True)
KETTLE = ItemFacts(cord=CORD, heating=True, rated_power_w=Decimal(2200), fuse_a=Decimal(13))
LAMP = ItemFacts(construction=Construction.CLASS_II, cord=CORD, rated_power_w=Decimal(60), fuse_a=Decimal(3))
LEAD = ItemFacts(
    kind=Kind.EXTENSION_LEAD,
    cord=Cord(Decimal("1.25"), Decimal(5), moulded_plug=True),
    fuse_a=Decimal(13),
    outlets=0,
)
RCD_LEAD = ItemFacts(
    kind=Kind.RCD_LEAD,
    cord=Cord(Decimal("1.5"), Decimal(20), moulded_plug=True),
    fuse_a=Decimal(13),
    rcd=Rcd(Decimal(30), "BS 7071"),
)

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE
INSULATION = Check.INSULATION_RESISTANCE
CURRENT = Check.PROTECTIVE_CONDUCTOR_CURRENT


def found(check: Check, text: str = "pass", point: str = "") -> Entry:
    """An entry as a technician makes it: pass, fail or not-done, or what the instrument shows."""
    if text in ("pass", "fail", "not-done"):
        return Entry(check, outcome=Outcome(text), point=point)
    return Entry(check, parse_reading(text, UNITS[check]), point=point)


def tripped(multiple: str, phase: int, text: str) -> Entry:
    """A trip test of an RCD: a time, or no-trip."""
    times = Decimal(multiple)
    if text == "no-trip":
        return Entry(Check.RCD_TRIP_TIME, trip=Trip.NO_TRIP, multiple=times, phase_deg=phase)
    reading = parse_reading(text, UNITS[Check.RCD_TRIP_TIME])
    return Entry(Check.RCD_TRIP_TIME, reading, multiple=times, phase_deg=phase)
