"""What can be worked out from an item's own facts: the fuse for its load, the cord for its current, how long a lead may
be, and what to test it with. Advice says what is wrong with an item; these say what would be right.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from app.rules.checks import may_be_harmed, may_need_earth, suggest_insulation_volts
from app.rules.equipment import LEADS, Construction, ItemFacts, Kind, Supply
from app.rules.fuses import (
    limit_cord_fuse,
    limit_fuse_power,
    number_rated_current,
    suggest_cord_size,
    suggest_earth_test_current,
    suggest_fuse,
)
from app.rules.leads import limit_lead_length, number_loop_resistance
from app.rules.quantities import Unit, describe_number
from app.rules.rcds import list_test_currents


@dataclass(frozen=True)
class Suggestion:
    """code is stable; value is in unit, and text says it in words with its working. Where several numbers belong
    together value is None.
    """

    code: str
    text: str
    value: Decimal | None = None
    unit: str = ""


@lru_cache(maxsize=4096)
def list_suggestions(item: ItemFacts) -> tuple[Suggestion, ...]:
    """List what follows from the facts of an item, as far as they are known; the sources stand in the rulebooks."""
    return (*_fuses(item), *_cords(item), *_leads(item), *_tests(item))


def _fuses(item: ItemFacts) -> list[Suggestion]:
    found = []
    current = number_rated_current(item)
    plugged = item.supply is Supply.SINGLE_230 and item.kind is not Kind.PORTABLE_RCD
    if plugged and item.kind not in LEADS and current is not None:
        power = item.rated_power_w if item.rated_power_w is not None else current * 230
        choice = suggest_fuse(power, motor=item.motor)
        if power <= limit_fuse_power(choice.fuse_a):
            found.append(Suggestion("fuse-by-load", choice.sentence, choice.fuse_a, Unit.AMP))
    largest = limit_cord_fuse(item.cord) if plugged and item.cord is not None else None
    if largest is not None and item.cord is not None:
        size = describe_number(item.cord.csa_mm2 or Decimal(0))
        text = f"A fuse of at most {describe_number(largest)} A protects a cord of {size} mm²."
        found.append(Suggestion("fuse-by-cord", text, largest, Unit.AMP))
    return found


def _cords(item: ItemFacts) -> list[Suggestion]:
    current = number_rated_current(item)
    smallest = suggest_cord_size(current) if current is not None and item.kind not in LEADS else None
    if smallest is None or current is None or item.cord is None:
        return []
    size, condition = smallest
    text = f"For {describe_number(current, 1)} A a cord of at least {describe_number(size)} mm² (IEC 60335-1)"
    return [Suggestion("cord-by-current", f"{text}{f', {condition}' if condition else ''}.", size, "mm²")]


def _leads(item: ItemFacts) -> list[Suggestion]:
    cord = item.cord
    if item.kind not in LEADS or item.kind is Kind.DETACHABLE_CORD or cord is None or cord.csa_mm2 is None:
        return []
    found = []
    size, longest = describe_number(cord.csa_mm2), limit_lead_length(cord.csa_mm2)
    if longest is not None and item.supply is Supply.SINGLE_230:
        text = f"An extension lead of {size} mm² without an RCD is recommended up to {describe_number(longest)} m."
        found.append(Suggestion("lead-length", text, longest, "m"))
    loop = number_loop_resistance(cord.csa_mm2, cord.length_m) if cord.length_m is not None else None
    if loop is not None and item.construction is Construction.CLASS_I:
        text = f"Line and protective conductor of this lead together: {describe_number(loop)} Ω at 20 °C."
        found.append(Suggestion("lead-loop", text, loop, Unit.OHM))
    return found


def _tests(item: ItemFacts) -> list[Suggestion]:
    found = []
    if item.fuse_a is not None and may_need_earth(item) and not may_be_harmed(item):
        current = suggest_earth_test_current(item.fuse_a)
        text = f"High-current test of the protective conductor: {describe_number(current)} A for 5 to 20 s (1.5 × "
        text += f"{describe_number(item.fuse_a)} A, not above 25 A); the low-current one has 20 to 200 mA."
        found.append(Suggestion("earth-test-current", text, current, Unit.AMP))
    if item.kind is not Kind.PORTABLE_RCD:
        volts = suggest_insulation_volts(item)
        found.append(
            Suggestion(
                "insulation-test-voltage", f"Insulation is tested with {volts} V d.c.", Decimal(volts), Unit.VOLT
            )
        )
    if item.rcd is not None:
        currents = ", ".join(describe_number(each) for each in list_test_currents(item.rcd.rated_ma).values())
        text = f"Test currents at half, 1 ×, 2 × and 5 × the rating of the RCD: {currents} mA."
        found.append(Suggestion("rcd-test-currents", text))
    return found
