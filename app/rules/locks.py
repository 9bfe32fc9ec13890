"""What may and what must still be done to an item: checks that are locked, missing, unfinished or have to wait.

A check that fails locks every later one; a check that needs a decision locks those that energise the item, and so does
a fuse or cord that fails the item as it is.
"""

from decimal import Decimal

from app.rules.checks import ELECTRONIC, LEADS, Check, Step
from app.rules.entries import CheckVerdict
from app.rules.equipment import ItemFacts
from app.rules.fallbacks import DECIDING, MISSED
from app.rules.limits import has_output_point
from app.rules.points import Way, list_half_measured, parse_measured_point
from app.rules.quantities import describe_number
from app.rules.rcds import FIVE, HALF, QUARTER_AMP_MA, list_trip_tests
from app.rules.verdicts import GOOD, OPEN, Outcome


def list_locked(
    steps: tuple[Step, ...], judged: dict[Check, CheckVerdict], falls_back: bool, unsafe: str = ""
) -> tuple[tuple[Check, str], ...]:
    """List the checks that must not be done now: all after a fail, the energising ones after an open question.

    unsafe says what is wrong with the item as it is, such as its fuse; it locks what energises too. Where the
    protective conductor current decides on an insulation resistance that is open, it is not locked by that.
    """
    locked: list[tuple[Check, str]] = []
    failed: Check | None = None
    unsure: Check | None = None
    for step in steps:
        answer = judged.get(step.check)
        if answer is None or answer.outcome is Outcome.NOT_DONE:
            decides = falls_back and step.check is DECIDING and unsure is MISSED
            if failed is not None:
                locked.append((step.check, describe_lock(failed, failed=True)))
            elif unsure is not None and step.energises and not decides:
                locked.append((step.check, describe_lock(unsure, failed=False)))
            elif unsafe and step.energises:
                locked.append((step.check, describe_unsafe_lock(unsafe)))
            continue
        if answer.outcome is Outcome.FAIL and failed is None:
            failed = step.check
        elif answer.outcome in OPEN and unsure is None:
            unsure = step.check
    return tuple(locked)


def describe_lock(check: Check, *, failed: bool) -> str:
    """Say why the checks after this one are locked: it failed, or it needs a decision."""
    if failed:
        return f"The {check.word} failed: stop here, do not energise the item."
    return f"The {check.word} needs a decision first: do not energise the item before that."


def describe_unsafe_lock(unsafe: str) -> str:
    """Say why what energises an item is locked whose fuse or cord fails it as it is."""
    return f"{unsafe} Put it right first: do not energise the item before that."


def list_missing(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> tuple[Check, ...]:
    """List the required checks still to do, those that a failed check has locked too."""
    stood_in = list_stand_ins(steps, judged)
    return tuple(step.check for step in steps if step.required and _undone(step, judged) and step.check not in stood_in)


def list_stand_ins(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> dict[Check, Step]:
    """List the required checks that were not done, each with the step that passed in its place.

    A step stands in for one check only, the first in the sequence; one that is required itself is there in any case.
    """
    found: dict[Check, Step] = {}
    for step in steps:
        if not step.required or not _undone(step, judged):
            continue
        for other in steps:
            answer = judged.get(other.check)
            spent = not other.required and other in found.values()
            if step.check in other.instead_of and not spent and answer is not None and answer.outcome in GOOD:
                found[step.check] = other
                break
    return found


def _undone(step: Step, judged: dict[Check, CheckVerdict]) -> bool:
    answer = judged.get(step.check)
    return answer is None or answer.outcome is Outcome.NOT_DONE


def list_unfinished(judged: dict[Check, CheckVerdict], item: ItemFacts) -> tuple[tuple[Check, str], ...]:
    """List the checks that need more readings than they have: every trip test of an RCD, every outlet of a lead."""
    found: list[tuple[Check, str]] = []
    insulation = judged.get(Check.INSULATION_RESISTANCE)
    if insulation is not None and insulation.outcome is not Outcome.FAIL and item.kind in ELECTRONIC:
        parts = [part for part in insulation.parts or (insulation,) if part.outcome is not Outcome.NOT_DONE]
        if parts and all(part.entry is not None and has_output_point(part.entry.point, item) for part in parts):
            found.append((insulation.check, "Still to measure: from mains to earth or to the case."))
    polarity = judged.get(Check.POLARITY)
    if polarity is not None and polarity.outcome in GOOD:
        named = {part.entry.point for part in polarity.parts or (polarity,) if part.entry and part.entry.point}
        if named and len(named) < item.outlets:
            text = f"{len(named)} of {item.outlets} outlets looked at for polarity: every outlet of a lead is."
            found.append((polarity.check, text))
    earth = judged.get(Check.PROTECTIVE_CONDUCTOR_RESISTANCE)
    if earth is not None and earth.outcome not in (Outcome.FAIL, Outcome.NOT_DONE):
        points = [part.entry.point if part.entry else "" for part in earth.parts or (earth,)]
        count = _count_places(points)
        if item.kind in LEADS and count < item.outlets:
            found.append((earth.check, f"{count} of {item.outlets} outlets tested: every outlet of a lead is."))
        if half := list_half_measured(points):
            found.append((earth.check, f"Still to measure, the d.c. current the other way round: {'; '.join(half)}."))
    trips = judged.get(Check.RCD_TRIP_TIME)
    if trips is not None and trips.outcome not in (Outcome.FAIL, Outcome.NOT_DONE):
        left = _list_trip_tests_left(trips, item)
        told = [f"{describe_number(times)} ×" + ("" if times <= HALF else f" at {phase}°") for times, phase in left]
        if told:
            found.append((trips.check, f"RCD tests still to do: {', '.join(told)}."))
    return tuple(found)


def _count_places(points: list[str]) -> int:
    """How many places were measured: two ways round at one place are one; places without a name count each."""
    split = [parse_measured_point(point) for point in points]
    named = {place for place, _ in split if place}
    nameless = [way for place, way in split if not place]
    return len(named) + max(nameless.count(None), nameless.count(Way.FORWARD), nameless.count(Way.REVERSED))


def _list_trip_tests_left(answer: CheckVerdict, item: ItemFacts) -> list[tuple[Decimal, int]]:
    if item.rcd is None:
        return []
    done: set[tuple[Decimal, int]] = set()
    for part in answer.parts or (answer,):
        if part.entry is None or part.entry.multiple is None or part.outcome is Outcome.NOT_DONE:
            continue
        multiple = part.entry.multiple
        if abs(multiple * item.rcd.rated_ma - QUARTER_AMP_MA) < 1 and multiple > FIVE:
            multiple = FIVE
        phase = 0 if multiple <= HALF else part.entry.phase_deg or 0
        done.add((multiple, phase))
    return [test for test in list_trip_tests(item.rcd) if test not in done]


def list_waiting(
    steps: tuple[Step, ...],
    judged: dict[Check, CheckVerdict],
    missing: tuple[Check, ...],
    locked: tuple[tuple[Check, str], ...],
) -> tuple[tuple[Check, str], ...]:
    """List the energising checks that come after a safety check which is still to be done."""
    shut = {check for check, _ in locked}
    waiting: list[tuple[Check, str]] = []
    first: Check | None = None
    for step in steps:
        to_come = step.energises and step.check not in judged and step.check not in shut
        # A current that may stand in for the missing check is not made to wait for it.
        if first is not None and to_come and first not in step.instead_of:
            waiting.append((step.check, f"Do the {first.word} first: it comes before the item is energised."))
        if first is None and step.check in missing and not step.energises:
            first = step.check
    return tuple(waiting)
