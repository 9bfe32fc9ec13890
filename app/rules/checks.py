"""Which checks an item needs, and in which order: looking first, then the tests that do not energise the item, then
those that do. What may stand in for what is said here too, with its condition.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from app.rules.equipment import LEADS, Construction, ItemFacts, Kind, Supply, Use
from app.rules.quantities import Unit
from app.rules.rulebooks.figures import Rulebook
from app.rules.rulebooks.shared_figures import VOLTS_GENTLE, VOLTS_USUAL
from app.rules.visual_points import VisualPoint, list_visual_points


class Check(StrEnum):
    VISUAL = "visual"
    PROTECTIVE_CONDUCTOR_RESISTANCE = "protective-conductor-resistance"
    INSULATION_RESISTANCE = "insulation-resistance"
    PROTECTIVE_CONDUCTOR_CURRENT = "protective-conductor-current"
    TOUCH_CURRENT = "touch-current"
    SUBSTITUTE_LEAKAGE_CURRENT = "substitute-leakage-current"
    POLARITY = "polarity"
    RCD_TRIP_TIME = "rcd-trip-time"
    FUNCTIONAL = "functional"
    LOAD = "load"
    DIELECTRIC_STRENGTH = "dielectric-strength"
    MICROWAVE_LEAKAGE = "microwave-leakage"

    @property
    def word(self) -> str:
        return {"visual": "visual inspection", "functional": "functional check", "rcd-trip-time": "RCD trip time"}.get(
            self.value, self.value.replace("-", " ")
        )


UNITS: dict[Check, Unit] = {
    Check.PROTECTIVE_CONDUCTOR_RESISTANCE: Unit.OHM,
    Check.INSULATION_RESISTANCE: Unit.MEGOHM,
    Check.PROTECTIVE_CONDUCTOR_CURRENT: Unit.MILLIAMP,
    Check.TOUCH_CURRENT: Unit.MILLIAMP,
    Check.SUBSTITUTE_LEAKAGE_CURRENT: Unit.MILLIAMP,
    Check.RCD_TRIP_TIME: Unit.MILLISECOND,
    Check.LOAD: Unit.VOLT_AMP,
    Check.DIELECTRIC_STRENGTH: Unit.MILLIAMP,
    Check.MICROWAVE_LEAKAGE: Unit.WATT_PER_M2,
}

CURRENTS = (Check.PROTECTIVE_CONDUCTOR_CURRENT, Check.TOUCH_CURRENT, Check.SUBSTITUTE_LEAKAGE_CURRENT)

ELECTRONIC = (Kind.CHARGER, Kind.POWER_SUPPLY)

UNPLUG = "Switch off, isolate and unplug the item before you begin."
HANDS_OFF = "Nobody touches the item while this test is on."
WILL_START = "The item will start or heat up: keep it clear, guards on, blades and drills out."
COMPETENT = "For competent persons only."
ASK_FIRST = "Ask before you unplug a computer; data can be lost."
BAD_EARTH = "If the earth is poor, the case can become live during this test."
TRIPS_SUPPLY = "This test trips the supply: warn the people on site."
NO_HIGH_VOLTAGE = "No high-voltage test on electronic equipment."


@dataclass(frozen=True)
class Step:
    """One check of a test sequence. instead_of names the checks that it may stand in for, when says under which
    condition; unit is None where the answer is pass or fail.
    """

    check: Check
    label: str
    unit: Unit | None
    energises: bool
    required: bool
    instead_of: tuple[Check, ...] = ()
    cautions: tuple[str, ...] = ()
    how: str = ""
    when: str = ""


@lru_cache(maxsize=4096)
def check_sequence(
    item: ItemFacts, rulebook: Rulebook, *, dielectric: bool = False, after_repair: bool = False
) -> tuple[Step, ...]:
    """List the checks that this item needs under this rulebook, safety checks first, in order.

    after_repair makes the functional check a required one; dielectric adds the dielectric strength test, which is off
    unless the firm turns it on and which needs a named competent person.
    """
    steps = [_visual(item)]
    if may_need_earth(item):
        steps.append(_earth(item))
    if item.kind in LEADS:
        steps.append(_polarity(item))
    if item.kind is not Kind.PORTABLE_RCD:
        steps.append(_insulation(item))
    if dielectric and not may_be_harmed(item) and item.construction is not Construction.CLASS_III:
        steps.append(_dielectric())
    if item.kind not in LEADS and item.kind is not Kind.PORTABLE_RCD:
        steps += _currents(item, rulebook)
    if has_rcd(item):
        steps.append(_rcd(item))
    if item.kind not in LEADS and item.kind is not Kind.PORTABLE_RCD:
        steps.append(
            Step(
                Check.FUNCTIONAL, "Functional check", None, True, after_repair, (), (WILL_START,),
                "Run the item on its supply through each function; listen, look and smell.",
            )
        )  # fmt: skip
        steps.append(
            Step(
                Check.LOAD, "Load", Unit.VOLT_AMP, True, False, (), (WILL_START,),
                "While it runs, note the load and compare it with the rating.",
            )
        )  # fmt: skip
    if item.kind is Kind.MICROWAVE_OVEN:
        steps.append(_microwave())
    # sorted() keeps the order within each part: whatever does not energise the item comes before whatever does.
    return tuple(sorted(steps, key=lambda step: step.energises))


def may_need_earth(item: ItemFacts) -> bool:
    """Say whether the protective conductor of this item has to be proved.

    A functional earth protects nobody, and metal that is not joined to earth has nothing to prove; an earth that
    Class II equipment passes on to an outlet is proved like any other (DGUV Information 203-070, 7.2).
    """
    if item.kind is Kind.PORTABLE_RCD:
        return item.construction is Construction.CLASS_I
    if item.construction is Construction.CLASS_I:
        return item.earthed_metal or item.kind in LEADS
    return item.through_earth and item.construction is not Construction.CLASS_III


def suggest_insulation_volts(item: ItemFacts) -> int:
    """Suggest the d.c. test voltage for insulation: 500 V, or 250 V where surge protection or electronics could be
    harmed (EN 50699, 5.4, as quoted in the UK national foreword).
    """
    return int((VOLTS_GENTLE if may_be_harmed(item) else VOLTS_USUAL).value)


def has_rcd(item: ItemFacts) -> bool:
    """Say whether the item holds a residual current device."""
    return item.rcd is not None or item.kind in (Kind.RCD_LEAD, Kind.PORTABLE_RCD)


def may_be_harmed(item: ItemFacts) -> bool:
    """Say whether a high test voltage or current could harm it: electronics, IT equipment, surge protection."""
    return item.sensitive or item.use is Use.IT or item.kind in ELECTRONIC


def _visual(item: ItemFacts) -> Step:
    cautions = (UNPLUG, ASK_FIRST) if item.use is Use.IT else (UNPLUG,)
    how = "Look the whole item over from plug to place of use; open a rewirable plug. A defect here stops the rest."
    return Step(Check.VISUAL, "Visual inspection", None, False, True, (), cautions, how)


def _earth(item: ItemFacts) -> Step:
    how = "From the earth pin to each exposed metal part; move the cord along its length and at its ends: a reading "
    how += "that jumps counts as a fault. With d.c., measure both ways round."
    if item.kind in LEADS:
        how = "From the earth pin to the earth contact of every outlet; flex the cord along its length and at its ends."
    cautions: tuple[str, ...] = (UNPLUG,)
    if may_be_harmed(item):
        cautions += ("Use the low test current (20 to 200 mA): a high one can harm signal and functional earths.",)
    return Step(
        Check.PROTECTIVE_CONDUCTOR_RESISTANCE,
        "Protective conductor resistance",
        Unit.OHM,
        False,
        True,
        (),
        cautions,
        how,
    )


def _polarity(item: ItemFacts) -> Step:
    how = "Line to line, neutral to neutral, earth to earth, no crossings and no breaks, at every outlet."
    if item.supply is Supply.CENTRE_TAPPED_110:
        how = "Each live conductor to its own contact, earth to earth, no crossings and no breaks, at every outlet."
    if item.supply is Supply.THREE_PHASE_400 or item.kind is Kind.THREE_PHASE_LEAD:
        how = "L1, L2, L3, neutral and earth each to its own contact; phase sequence kept from plug to every outlet."
    return Step(Check.POLARITY, "Polarity", None, False, True, (), (UNPLUG,), how)


def _insulation(item: ItemFacts) -> Step:
    lines = "line and neutral"
    if item.supply is Supply.THREE_PHASE_400 or item.kind is Kind.THREE_PHASE_LEAD:
        lines = "all lines and neutral"
    how = f"{suggest_insulation_volts(item)} V d.c.: item switched on, {lines} joined, to earth (Class I) or to a "
    how += "probe on the case (Class II). Earth continuity comes first for Class I."
    if item.kind in LEADS:
        how = f"{suggest_insulation_volts(item)} V d.c.: {lines} joined, to earth, with every outlet switch on."
    if may_be_harmed(item):
        how += " 500 V can harm surge protection and electronics; a leakage current may be measured instead."
    if item.kind in ELECTRONIC:
        how += " Then from input to output side (point “output”): the output must stay separate from the mains."
    return Step(
        Check.INSULATION_RESISTANCE,
        "Insulation resistance",
        Unit.MEGOHM,
        False,
        True,
        (),
        (UNPLUG, HANDS_OFF),
        how,
    )


WHEN_NOT_POSSIBLE = "where the insulation test cannot be done, is refused, or could harm the item"
WHEN_ELECTRONIC = "for electronic and IT equipment that the insulation test could harm"
WITHOUT_MAINS = "all of the insulation is reached without the mains"
#: It sees nothing behind a switch or relay, so it needs proof that the insulation holds (from memory).
WHEN_SUBSTITUTE = f"where {WITHOUT_MAINS}, and the insulation test was passed"
_REASONS = {
    WHEN_NOT_POSSIBLE: (
        "the insulation test cannot be done",
        "the customer does not want the insulation test",
        "the insulation test could harm it",
    ),
    WHEN_ELECTRONIC: ("the insulation test could harm it",),
}


def describe_stand_in(step: Step, check: Check) -> str:
    """Say under which condition a step may stand in for a check."""
    return step.when if check is Check.INSULATION_RESISTANCE else WHEN_SUBSTITUTE


def list_stand_in_reasons(step: Step) -> tuple[str, ...]:
    """List the usual reasons for which a step stands in, in the words that a person may choose from."""
    insulation = _REASONS[step.when] if Check.INSULATION_RESISTANCE in step.instead_of else ()
    current = any(check is not Check.INSULATION_RESISTANCE for check in step.instead_of)
    return (*insulation, WITHOUT_MAINS) if current else insulation


def describe_alternatives(step: Step) -> str:
    """Say for which checks a step may stand in, each with its condition; nothing where it stands in for none."""
    told = (f"in place of the {check.word}, {describe_stand_in(step, check)}" for check in step.instead_of)
    return "; ".join(told)


def _currents(item: ItemFacts, rulebook: Rulebook) -> list[Step]:
    """The leakage currents: on the mains, or with a substitute supply. Where the rulebook does not ask for them they
    are there to stand in for the insulation test.
    """
    if item.construction is Construction.CLASS_III:
        return []
    stands_in = rulebook.current_stands_in or may_be_harmed(item)
    instead: tuple[Check, ...] = (Check.INSULATION_RESISTANCE,) if stands_in else ()
    when = (WHEN_NOT_POSSIBLE if rulebook.current_stands_in else WHEN_ELECTRONIC) if stands_in else ""
    cautions = (HANDS_OFF, BAD_EARTH, WILL_START)
    earthed = item.construction is Construction.CLASS_I and item.earthed_metal
    touch = not earthed
    main = Check.TOUCH_CURRENT if touch else Check.PROTECTIVE_CONDUCTOR_CURRENT
    how = (
        "On the mains, both ways round where the plug can be turned: from each metal part to earth through the meter."
        if touch
        else "On the mains: in the protective conductor, or as the difference of line and neutral, which takes all "
        "paths to earth."
    )
    label = "Touch current" if touch else "Protective conductor current"
    steps = [
        Step(
            Check.SUBSTITUTE_LEAKAGE_CURRENT, "Substitute leakage current", Unit.MILLIAMP, False, False,
            (*instead, *((main,) if rulebook.current_required else ())), (UNPLUG, HANDS_OFF),
            "Line and neutral joined, a low test voltage to earth or to the case, scaled to the supply voltage.",
            when if stands_in else WHEN_SUBSTITUTE if rulebook.current_required else "",
        ),
        Step(main, label, Unit.MILLIAMP, True, rulebook.current_required, instead, cautions, how, when),
    ]  # fmt: skip
    if not touch:
        steps.append(
            Step(
                Check.TOUCH_CURRENT, "Touch current", Unit.MILLIAMP, True, False, (), cautions,
                "Only for metal parts of Class I that are not joined to earth.",
            )
        )  # fmt: skip
    return steps


def _dielectric() -> Step:
    return Step(
        Check.DIELECTRIC_STRENGTH, "Dielectric strength", Unit.MILLIAMP, True, False, (),
        (COMPETENT, HANDS_OFF, NO_HIGH_VOLTAGE),
        "Only after repair, with a named competent person; it can harm insulation and electronics.",
    )  # fmt: skip


def _rcd(item: ItemFacts) -> Step:
    return Step(
        Check.RCD_TRIP_TIME, "RCD trip time", Unit.MILLISECOND, True, True, (), (TRIPS_SUPPLY, COMPETENT),
        "Half the rated current (must not trip), then 1 ×, then 5 ×, each at 0° and 180°; the longer time counts.",
    )  # fmt: skip


def _microwave() -> Step:
    return Step(
        Check.MICROWAVE_LEAKAGE, "Microwave leakage", Unit.WATT_PER_M2, True, False, (), (WILL_START, COMPETENT),
        "Full power with a load of 275 ml of water, meter 50 mm from door, seal and vents. Where the firm uses it.",
    )  # fmt: skip


__all__ = [
    "CURRENTS", "LEADS", "UNITS", "Check", "Step", "VisualPoint", "check_sequence", "has_rcd", "list_visual_points",
    "may_need_earth",
]  # fmt: skip
