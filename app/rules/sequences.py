"""A firm's own test sequence, made from the known checks: its steps in safe order, and what it leaves out that the
rulebook asks for.
"""

from dataclasses import replace

from app.rules.checks import UNITS, Check, Step, check_sequence
from app.rules.equipment import ItemFacts
from app.rules.rulebooks.figures import Rulebook

_ENERGISING = (
    Check.PROTECTIVE_CONDUCTOR_CURRENT, Check.TOUCH_CURRENT, Check.RCD_TRIP_TIME, Check.FUNCTIONAL, Check.LOAD,
    Check.DIELECTRIC_STRENGTH, Check.MICROWAVE_LEAKAGE,
)  # fmt: skip


def check_own_sequence(own: tuple[Check, ...], item: ItemFacts, rulebook: Rulebook) -> tuple[Step, ...]:
    """List the steps of a firm's own sequence: the visual inspection first, then what does not energise the item,
    then what does, each part in the firm's order; every one of them is required.

    A measurement that this item cannot have (the trip time of an item without an RCD) is passed over, so that one
    sequence serves items that differ.
    """
    known = {step.check: step for step in check_sequence(item, rulebook, dielectric=True)}
    wanted = [check for check in dict.fromkeys(own) if check in known or check not in UNITS]
    steps = [replace(known.get(check) or _plain(check), required=True) for check in wanted]
    return tuple(sorted(steps, key=lambda step: (step.check is not Check.VISUAL, step.energises)))


def list_chosen_steps(
    item: ItemFacts,
    rulebook: Rulebook,
    *,
    own: tuple[Check, ...] | None = None,
    again: tuple[Check, ...] = (),
    after_repair: bool = False,
    dielectric: bool = False,
) -> tuple[Step, ...]:
    """List the steps of an item: those of the rulebook, or the firm's own; what it failed before is required again,
    whatever either asks for, as far as the item can have it.
    """
    usual = check_sequence(item, rulebook, after_repair=after_repair, dielectric=dielectric)
    if own is not None:
        known = tuple(check for check in again if any(step.check is check for step in usual))
        return check_own_sequence((*own, *known), item, rulebook)
    return tuple(replace(step, required=True) if step.check in again else step for step in usual)


def _plain(check: Check) -> Step:
    word = check.word[0].upper() + check.word[1:]
    return Step(check, word, UNITS.get(check), check in _ENERGISING, True)


#: What a firm's own sequence can be made of, in safe order. The dielectric strength test is not among them: it is done
#: after repair only, where the firm has turned it on and named who is competent.
OWN_CHECKS = (
    Check.VISUAL, Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.POLARITY, Check.INSULATION_RESISTANCE,
    Check.SUBSTITUTE_LEAKAGE_CURRENT, Check.PROTECTIVE_CONDUCTOR_CURRENT, Check.TOUCH_CURRENT, Check.RCD_TRIP_TIME,
    Check.FUNCTIONAL, Check.LOAD, Check.MICROWAVE_LEAKAGE,
)  # fmt: skip


def list_left_out(own: tuple[Check, ...], item: ItemFacts, rulebook: Rulebook) -> tuple[Check, ...]:
    """List the checks that the rulebook asks of this item and that the firm's own sequence leaves out.

    A check that another one of the sequence may stand in for is not left out.
    """
    steps = check_sequence(item, rulebook)
    covered = {check for step in steps if step.check in own for check in step.instead_of}
    return tuple(step.check for step in steps if step.required and step.check not in own and step.check not in covered)


def describe_left_out(own: tuple[Check, ...], item: ItemFacts, rulebook: Rulebook) -> str:
    """Say what the firm's own sequence leaves out that the rulebook asks for; nothing where it leaves out nothing."""
    words = ", ".join(check.word for check in list_left_out(own, item, rulebook))
    return f"The firm's own sequence leaves out what {rulebook.title} asks for: {words}." if words else ""
