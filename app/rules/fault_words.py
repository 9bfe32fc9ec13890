"""What is wrong where a check failed without a number, and what is said of an answer beside the name of its check."""

from decimal import Decimal

from app.rules.checks import Check
from app.rules.quantities import describe_number
from app.rules.rcds import HALF
from app.rules.visual_points import describe_point

_FAULTS = {
    Check.VISUAL: "not satisfactory",
    Check.POLARITY: "crossed or broken",
    Check.FUNCTIONAL: "does not work as it should",
}


def describe_fault(check: Check) -> str:
    """Say what a fail without a number means: "crossed or broken"."""
    return _FAULTS.get(check, "no value noted")


def describe_fail(
    check: Check, *, point: str = "", multiple: Decimal | None = None, phase_deg: int | None = None, note: str = ""
) -> str:
    """Say what is wrong where a check failed without a number, with the note typed: "Polarity, outlet 2: crossed or
    broken. Found at the plug."
    """
    if check is Check.VISUAL and note:
        return note
    if check is Check.RCD_TRIP_TIME and multiple is not None:
        phase = f" at {phase_deg}°" if phase_deg is not None and multiple > HALF else ""
        what = f"no trip at {describe_number(multiple)} × its rated current{phase}"
        if multiple <= HALF:
            part = "half" if multiple == HALF else f"{describe_number(multiple)} ×"
            what = f"tripped at {part} its rated current"
        return f"RCD: {what}." + (f" {note}" if note else "")
    if check is Check.VISUAL:
        point = describe_point(point) if point else ""
    place = f"{_name(check)}, {point}" if point else _name(check)
    return f"{place}: {describe_fault(check)}." + (f" {note}" if note else "")


def describe_beside(check: Check, sentence: str) -> str:
    """Give the sentence on an answer as it stands beside the name of its check, without that name: "fail, crossed or
    broken."; with the point first where the sentence names one.
    """
    name = _name(check)
    if not sentence.startswith((f"{name}: ", f"{name} (")):
        return sentence
    rest = sentence.removeprefix(name).removeprefix(": ")
    if rest.startswith(" (") and "): " in rest:
        point, _, said = rest.removeprefix(" (").partition("): ")
        return f"{point}: {said}"
    return rest


def _name(check: Check) -> str:
    return f"{check.word[0].upper()}{check.word[1:]}"
