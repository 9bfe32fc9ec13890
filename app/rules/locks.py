"""What may and what must still be done to an item: checks that are locked, missing, unfinished or have to wait.

A check that fails locks every later one; a check that needs a decision locks those that energise the item, and so does
a fuse or cord that fails the item as it is.
"""

from decimal import Decimal

from app.rules.checks import LEADS, Check, Step
from app.rules.entries import CheckVerdict
from app.rules.equipment import ItemFacts
from app.rules.points import Way, list_half_measured, parse_measured_point
from app.rules.quantities import describe_number
from app.rules.rcds import FIVE, HALF, QUARTER_AMP_MA, list_trip_tests
from app.rules.verdicts import Outcome

_GOOD = (Outcome.PASS, Outcome.CONDITIONAL_PASS)
OPEN = (Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL)


def list_locked(
    steps: tuple[Step, ...], judged: dict[Check, CheckVerdict], falls_back: bool, unsafe: str = ""
) -> tuple[tuple[Check, str], ...]:
    """List the checks that must not be done now: all after a fail, the energising ones after an open question.

    unsafe says what is wrong with the item as it is, such as its fuse; it locks what energises too. Where a failed
    insulation test can still be made good by the protective conductor current, that one stays open.
    """
    locked: list[tuple[Check, str]] = []
    failed: Check | None = None
    unsure: Check | None = None
    for step in steps:
        answer = judged.get(step.check)
        if answer is None or answer.outcome is Outcome.NOT_DONE:
            makes_good = falls_back and step.check is Check.PROTECTIVE_CONDUCTOR_CURRENT
            if makes_good and failed is Check.INSULATION_RESISTANCE:
                continue
            if failed is not None:
                locked.append((step.check, describe_lock(failed, failed=True)))
            elif unsure is not None and step.energises:
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
    missing = []
    for step in steps:
        if not step.required:
            continue
        answer = judged.get(step.check)
        undone = answer is None or answer.outcome is Outcome.NOT_DONE
        if undone and check_stand_in(step.check, steps, judged) is None:
            missing.append(step.check)
    return tuple(missing)


def check_stand_in(check: Check, steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> Step | None:
    """Give the step that was done in place of this check and passed, None where there is none."""
    for step in steps:
        answer = judged.get(step.check)
        if check in step.instead_of and answer is not None and answer.outcome in _GOOD:
            return step
    return None


def list_unfinished(judged: dict[Check, CheckVerdict], item: ItemFacts) -> tuple[tuple[Check, str], ...]:
    """List the checks that need more readings than they have: every trip test of an RCD, every outlet of a lead."""
    found: list[tuple[Check, str]] = []
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
