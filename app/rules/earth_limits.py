"""The limit of protective conductor resistance: base plus cord (UK), or by steps of cord length (EN 50699).

Where the size or the length of the cord is not known the strictest possible limit is used, a reading below it passes,
and one above it needs a person and the missing fact; a reading that no cord in use explains has failed.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from app.rules.conductors import LONGEST_M, THINNEST_MM2, limit_cord_resistance, number_per_metre
from app.rules.equipment import Cord, ItemFacts, Supply, Use
from app.rules.fuses import number_rated_current
from app.rules.quantities import describe_bound, describe_number, number_rounded
from app.rules.rulebooks.conductors import PLAIN
from app.rules.rulebooks.figures import UNCHECKED, EarthByCord, EarthBySteps, Rulebook, Status


@dataclass(frozen=True)
class EarthLimit:
    """ohms is the limit used; loosest how far it could reach if the missing facts, asked for in wants, were known."""

    ohms: Decimal
    working: str
    source: str
    status: Status
    loosest: Decimal | None = None
    wants: str = ""
    remark: str = ""
    is_sum: bool = True


def limit_earth(item: ItemFacts, rulebook: Rulebook, temperature_c: Decimal | None = None) -> EarthLimit:
    """Work out the limit of protective conductor resistance for this item, in ohms.

    temperature_c is that of the cord's conductor where it is to be taken into account; None means 20 °C.
    """
    if isinstance(rulebook.earth, EarthByCord):
        return _by_cord(item.cord, rulebook.earth, temperature_c)
    return _by_steps(item, rulebook.earth, rulebook)


def _by_cord(cord: Cord | None, earth: EarthByCord, temperature_c: Decimal | None) -> EarthLimit:
    base = earth.base.value
    source = f"{earth.base.source}, {earth.base.edition}"
    if cord is None:
        return EarthLimit(base, "0.1 + 0, no cord in the measured path", source, earth.base.status)
    resistance = limit_cord_resistance(cord, temperature_c)
    if resistance is not None:
        status = Status.MEMORY if Status.MEMORY in (earth.base.status, resistance.status) else Status.SEEN
        working = f"{describe_number(base)} + {resistance.working}"
        return EarthLimit(base + resistance.ohms, working, f"{source}; {resistance.source}", status)
    thinnest = cord.csa_mm2 if cord.csa_mm2 in PLAIN else THINNEST_MM2
    per_metre = number_per_metre(thinnest or THINNEST_MM2, cord.tinned) or Decimal(0)
    loosest = base + per_metre * (cord.length_m if cord.length_m is not None else LONGEST_M)
    working = f"{describe_number(base)} + 0, {_unknown(cord)}"
    return EarthLimit(base, working, source, earth.base.status, loosest, _wants(cord))


def _unknown(cord: Cord) -> str:
    if cord.csa_mm2 is None and cord.length_m is None:
        return "the cord not being known"
    if cord.csa_mm2 is not None and cord.csa_mm2 not in PLAIN:
        return f"a cord of {describe_number(cord.csa_mm2)} mm² being in no table"
    return f"the cord's {'size' if cord.csa_mm2 is None else 'length'} not being known"


def _wants(cord: Cord) -> str:
    if cord.csa_mm2 is not None and cord.csa_mm2 not in PLAIN:
        size = describe_number(cord.csa_mm2)
        sizes = ", ".join(describe_number(each) for each in sorted(PLAIN))
        return f"Look at the cord size again: {size} mm² is in no table ({sizes} mm²), so the strictest limit is used."
    missing = [name for name, value in (("size", cord.csa_mm2), ("length", cord.length_m)) if value is None]
    what = " and ".join(missing)
    return f"Enter the cord {what}: without it the limit cannot be worked out exactly, so the strictest is used."


def _by_steps(item: ItemFacts, earth: EarthBySteps, rulebook: Rulebook) -> EarthLimit:
    source = f"{rulebook.edition.split(',')[0]}"
    cord, base = item.cord, earth.base.value
    if cord is None:
        if item.use is Use.FIXED:
            wants = f"Between 0.3 Ω and 1 Ω on a fixed connection a person decides: the 1 Ω is a {UNCHECKED}."
            return EarthLimit(
                base, "no cord in the measured path", source, Status.SEEN, earth.fixed.value, wants, is_sum=False
            )
        return EarthLimit(base, "no cord in the measured path", source, Status.SEEN, is_sum=False)
    if cord.csa_mm2 is not None and cord.csa_mm2 > earth.step_csa.value:
        return _calculated(cord, earth, rulebook, source)
    if cord.csa_mm2 is None and _may_exceed(item, earth):
        allowance = earth.contacts.value if rulebook.setting("contact-allowance") == "with" else Decimal(0)
        wants = "Enter the cord size: above 1.5 mm² the limit is calculated, so the strictest is used."
        return EarthLimit(allowance, "cord size not known", source, Status.SEEN, earth.most.value, wants, is_sum=False)
    note = "" if cord.csa_mm2 is not None else "; size not noted, taken as up to 1.5 mm² since it carries up to 16 A"
    if cord.length_m is None:
        wants = "Enter the cord length: without it the limit cannot be worked out exactly, so the strictest is used."
        return EarthLimit(base, f"cord up to 5 m{note}", source, Status.SEEN, earth.most.value, wants, is_sum=False)
    return _stepped(cord.length_m, earth, rulebook.setting("step-rounding"), source, note)


def _stepped(length_m: Decimal, earth: EarthBySteps, rounding: str, source: str, note: str) -> EarthLimit:
    further = max(length_m - earth.first_length.value, Decimal(0)) / earth.step_length.value
    steps = further.to_integral_value(ROUND_FLOOR if rounding == "whole" else ROUND_CEILING)
    ohms = earth.base.value + steps * earth.step.value
    if steps == 0:
        return EarthLimit(earth.base.value, f"cord up to 5 m{note}", source, Status.SEEN, is_sum=False)
    length = describe_number(length_m)
    if ohms > earth.most.value:
        return EarthLimit(earth.most.value, f"the most by steps, {length} m{note}", source, Status.SEEN, is_sum=False)
    counted = "whole" if rounding == "whole" else "started"
    return EarthLimit(ohms, f"0.3 + {steps} × 0.1, {counted} 7.5 m beyond 5 m ({length} m){note}", source, Status.SEEN)


def _calculated(cord: Cord, earth: EarthBySteps, rulebook: Rulebook, source: str) -> EarthLimit:
    with_contacts = rulebook.setting("contact-allowance") == "with"
    allowance = earth.contacts.value if with_contacts else Decimal(0)
    added = f" + 0.1 for contacts ({UNCHECKED})" if with_contacts else ", without an allowance for contacts"
    size = describe_number(cord.csa_mm2 or Decimal(0))
    status = Status.MEMORY if with_contacts else Status.SEEN
    if cord.length_m is None or not cord.csa_mm2:
        longest = LONGEST_M / (earth.conductivity.value * (cord.csa_mm2 or Decimal(1))) + allowance
        wants = "Enter the cord length: without it the limit cannot be worked out exactly, so the strictest is used."
        return EarthLimit(
            allowance, f"length not known{added}", source, status, number_rounded(longest), wants, is_sum=False
        )
    ohms = number_rounded(cord.length_m / (earth.conductivity.value * cord.csa_mm2) + allowance)
    length = describe_number(cord.length_m)
    remark = "" if with_contacts else _REMARK.format(describe_bound(ohms + earth.contacts.value, upper=True))
    working = f"{length} m ÷ (56 m/(Ω·mm²) × {size} mm²){added}"
    return EarthLimit(ohms, working, source, status, remark=remark)


_REMARK = (
    "With the allowance of 0.1 Ω for contacts (from memory, a setting of this rulebook) the limit would be {} Ω. "
    "Look in the standard before choosing it."
)


def _may_exceed(item: ItemFacts, earth: EarthBySteps) -> bool:
    """Say whether the item could carry more than the current up to which the steps hold."""
    most = earth.step_current.value
    if item.rated_current_a is not None:
        return item.rated_current_a > most
    if item.fuse_a is not None:
        return item.fuse_a > most
    return item.supply is not Supply.SINGLE_230 or (number_rated_current(item) or 0) > most
