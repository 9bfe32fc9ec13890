"""Judges an item from its readings: each check, what is missing, what is locked, what else is to be said.

A check that fails locks every later one; a check that needs a decision locks those that energise the item. A missing
required check makes the item incomplete, never pass.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from app.rules.advice import Advice, Severity, list_advice
from app.rules.checks import LEADS, Check, Step, check_sequence
from app.rules.entries import SIMPLE, CheckVerdict, Decision, Entry, Trip, judge_entry
from app.rules.equipment import ItemFacts
from app.rules.quantities import describe_number
from app.rules.rcds import FIVE, HALF, QUARTER_AMP_MA, list_trip_tests
from app.rules.rulebooks.figures import Rulebook
from app.rules.sequences import check_own_sequence, list_left_out
from app.rules.verdicts import Outcome, Verdict

# From best to worst: the worst of several readings is the answer of their check.
_ORDER = (
    Outcome.NOT_DONE, Outcome.PASS, Outcome.CONDITIONAL_PASS, Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL,
    Outcome.FAIL,
)  # fmt: skip
_GOOD = (Outcome.PASS, Outcome.CONDITIONAL_PASS)
_OPEN = (Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL)
_RANK = {outcome: place for place, outcome in enumerate(_ORDER)}


@dataclass(frozen=True)
class ItemVerdict:
    """The answer for an item. missing are required checks that were not done; locked are those (missing or not) that
    must not be done now, each with the sentence that says why; waiting are energising checks that come after a
    missing one; unfinished are checks that need more readings than they have (outlets, trip tests).
    """

    verdict: Verdict
    checks: tuple[CheckVerdict, ...]
    missing: tuple[Check, ...]
    locked: tuple[tuple[Check, str], ...]
    advice: tuple[Advice, ...]
    rulebook_id: str
    rulebook_version: str
    sentence: str
    waiting: tuple[tuple[Check, str], ...] = ()
    unfinished: tuple[tuple[Check, str], ...] = ()


def judge_item(
    item: ItemFacts,
    entries: Iterable[Entry],
    rulebook: Rulebook,
    partial: bool = False,
    *,
    decision: Decision = SIMPLE,
    dielectric: bool = False,
    after_repair: bool = False,
    own: tuple[Check, ...] | None = None,
) -> ItemVerdict:
    """Judge an item from everything entered for it, in whatever order it was entered.

    With partial only what is given counts; what is missing is still listed. own is a firm's own sequence in place of
    the rulebook's; what it leaves out is told. Raises ValueError for an entry that cannot be judged (see judge_entry).
    """
    steps = check_sequence(item, rulebook, dielectric=dielectric, after_repair=after_repair)
    if own is not None:
        steps = check_own_sequence(own, item, rulebook)
    judged = _judge_checks(entries, item, rulebook, decision, steps)
    judged = _with_fallback(judged, item, rulebook)
    locked = _list_locked(steps, judged)
    missing = _list_missing(steps, judged)
    unfinished = _list_unfinished(judged, item)
    advice = (*list_advice(item), *_list_more_advice(steps, judged, rulebook))
    if own is not None:
        advice += _list_left_out(own, item, rulebook)
    shut = {check for check, _ in locked}
    to_do = [check for check in missing if check not in shut] + [check for check, _ in unfinished]
    verdict = _verdict(judged, to_do, advice, partial)
    return ItemVerdict(
        verdict, tuple(judged.values()), missing, locked, advice, rulebook.id, rulebook.version,
        _sentence(verdict, judged, to_do, advice), _list_waiting(steps, judged, missing, locked), unfinished,
    )  # fmt: skip


def _judge_checks(
    entries: Iterable[Entry], item: ItemFacts, rulebook: Rulebook, decision: Decision, steps: tuple[Step, ...]
) -> dict[Check, CheckVerdict]:
    """Judge every entry and gather them by check, in the order of the sequence."""
    by_check: dict[Check, list[CheckVerdict]] = {}
    for entry in entries:
        by_check.setdefault(entry.check, []).append(judge_entry(entry, item, rulebook, decision))
    order = [step.check for step in steps] + list(Check)
    return {check: _worst(by_check[check]) for check in dict.fromkeys(order) if check in by_check}


def _worst(parts: list[CheckVerdict]) -> CheckVerdict:
    """Give the worst of several readings as the answer, with all of them kept."""
    if len(parts) == 1:
        return parts[0]
    return replace(max(parts, key=_badness), parts=tuple(parts))


def _badness(part: CheckVerdict) -> tuple[int, Decimal, str]:
    """Worst outcome, then least to spare; the sentence makes the choice independent of the order of entry."""
    if part.margin is None or part.limit is None:
        return _RANK[part.outcome], Decimal(-1000), part.sentence
    scale = part.limit.at_most or part.limit.at_least or Decimal(1)
    return _RANK[part.outcome], -part.margin / scale, part.sentence


def _with_fallback(judged: dict[Check, CheckVerdict], item: ItemFacts, rulebook: Rulebook) -> dict[Check, CheckVerdict]:
    """Accept a heater that misses its insulation limit where the rulebook lets the measured current decide."""
    insulation = judged.get(Check.INSULATION_RESISTANCE)
    current = judged.get(Check.PROTECTIVE_CONDUCTOR_CURRENT)
    threshold = rulebook.fallback_kw
    if threshold is None or insulation is None or current is None or item.rated_power_w is None or not item.heating:
        return judged
    if insulation.outcome is not Outcome.FAIL or current.outcome is not Outcome.PASS:
        return judged
    if item.rated_power_w <= threshold.value * 1000:
        return judged
    text = insulation.sentence.removesuffix(".") + "; accepted because the protective conductor current is within "
    text += f"its limit (heating above {describe_number(threshold.value)} kW, {threshold.source}, from memory)."
    accepted = replace(insulation, outcome=Outcome.CONDITIONAL_PASS, sentence=text)
    return {**judged, Check.INSULATION_RESISTANCE: accepted}


def _list_locked(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> tuple[tuple[Check, str], ...]:
    """List the checks that must not be done now: all after a fail, the energising ones after an open question."""
    locked: list[tuple[Check, str]] = []
    failed: Check | None = None
    unsure: Check | None = None
    for step in steps:
        answer = judged.get(step.check)
        if answer is None or answer.outcome is Outcome.NOT_DONE:
            if failed is not None:
                why = f"The {failed.word} failed: stop here, do not energise the item."
                locked.append((step.check, why))
            elif unsure is not None and step.energises:
                why = f"The {unsure.word} needs a decision first: do not energise the item before that."
                locked.append((step.check, why))
            continue
        if answer.outcome is Outcome.FAIL and failed is None:
            failed = step.check
        elif answer.outcome in _OPEN and unsure is None:
            unsure = step.check
    return tuple(locked)


def _list_missing(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> tuple[Check, ...]:
    """List the required checks still to do, those that a failed check has locked too."""
    missing = []
    for step in steps:
        if not step.required:
            continue
        answer = judged.get(step.check)
        undone = answer is None or answer.outcome is Outcome.NOT_DONE
        if undone and _stand_in(step.check, steps, judged) is None:
            missing.append(step.check)
    return tuple(missing)


def _stand_in(check: Check, steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> Step | None:
    """Give the step that was done in place of this check and passed, None where there is none."""
    for step in steps:
        answer = judged.get(step.check)
        if check in step.instead_of and answer is not None and answer.outcome in _GOOD:
            return step
    return None


def _list_unfinished(judged: dict[Check, CheckVerdict], item: ItemFacts) -> tuple[tuple[Check, str], ...]:
    """List the checks that need more readings than they have: every trip test of an RCD, every outlet of a lead."""
    found: list[tuple[Check, str]] = []
    earth = judged.get(Check.PROTECTIVE_CONDUCTOR_RESISTANCE)
    if earth is not None and item.kind in LEADS and earth.outcome not in (Outcome.FAIL, Outcome.NOT_DONE):
        count = len(earth.parts) or 1
        if count < item.outlets:
            found.append((earth.check, f"{count} of {item.outlets} outlets tested: every outlet of a lead is."))
    trips = judged.get(Check.RCD_TRIP_TIME)
    if trips is not None and trips.outcome not in (Outcome.FAIL, Outcome.NOT_DONE):
        left = _list_trip_tests_left(trips, item)
        told = [f"{describe_number(times)} ×" + ("" if times <= HALF else f" at {phase}°") for times, phase in left]
        if told:
            found.append((trips.check, f"RCD tests still to do: {', '.join(told)}."))
    return tuple(found)


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


def _list_waiting(
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


def _list_more_advice(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict], rulebook: Rulebook) -> list[Advice]:
    """List what the readings themselves call for."""
    found: list[Advice] = []
    for step in steps:
        if step.required and (step.check not in judged or judged[step.check].outcome is Outcome.NOT_DONE):
            other = _stand_in(step.check, steps, judged)
            if other is not None:
                text = f"The {other.check.word} stands in for the {step.check.word}, as it may {other.when}: note why."
                found.append(Advice("stands-in", text, Severity.NOTE))
    known = {step.check for step in steps}
    for check, answer in judged.items():
        if check not in known:
            text = f"The {check.word} is not part of the test sequence of this item under {rulebook.title}."
            found.append(Advice("outside-sequence", text, Severity.NOTE))
        if answer.outcome is Outcome.CONDITIONAL_PASS:
            text = f"The {check.word} passed only conditionally: {answer.sentence}"
            found.append(Advice("conditional-pass", text, Severity.NOTE))
        if answer.limit is not None and answer.limit.remark and answer.outcome is not Outcome.PASS:
            found.append(Advice("setting-matters", answer.limit.remark, Severity.NOTE))
        if answer.limit is not None and answer.limit.loosest is not None and answer.outcome is Outcome.INCONCLUSIVE:
            code = "load-above-rating" if check is Check.LOAD else "limit-needs-fact"
            found.append(Advice(code, answer.limit.wants))
    return found + _list_energised(steps, judged)


def _list_left_out(own: tuple[Check, ...], item: ItemFacts, rulebook: Rulebook) -> tuple[Advice, ...]:
    words = ", ".join(check.word for check in list_left_out(own, item, rulebook))
    text = f"The firm's own sequence leaves out what {rulebook.title} asks for: {words}."
    return (Advice("left-out", text),) if words else ()


def _list_energised(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict]) -> list[Advice]:
    failed: Check | None = None
    for step in steps:
        answer = judged.get(step.check)
        if answer is None:
            continue
        if failed is not None and step.energises and answer.outcome is not Outcome.NOT_DONE:
            text = (
                f"The {step.check.word} was done although the {failed.word} had failed: do not energise a failed item."
            )
            return [Advice("energised-after-failure", text)]
        if answer.outcome is Outcome.FAIL and failed is None:
            failed = step.check
    return []


def _verdict(
    judged: dict[Check, CheckVerdict], to_do: list[Check], advice: tuple[Advice, ...], partial: bool
) -> Verdict:
    outcomes = [answer.outcome for answer in judged.values()]
    if Outcome.FAIL in outcomes or any(each.severity is Severity.FAIL for each in advice):
        return Verdict.FAIL
    if (to_do and not partial) or all(outcome is Outcome.NOT_DONE for outcome in outcomes):
        return Verdict.INCOMPLETE
    if any(outcome in _OPEN for outcome in outcomes):
        return Verdict.DECISION
    return Verdict.PASS


def _sentence(
    verdict: Verdict, judged: dict[Check, CheckVerdict], to_do: list[Check], advice: tuple[Advice, ...]
) -> str:
    if verdict is Verdict.FAIL:
        why = [check.word for check, answer in judged.items() if answer.outcome is Outcome.FAIL]
        why += [each.text.rstrip(".") for each in advice if each.severity is Severity.FAIL]
        return f"Fail: {'; '.join(why)}."
    if verdict is Verdict.INCOMPLETE:
        still = ", ".join(check.word for check in to_do)
        return f"Incomplete: {still} still to do." if still else "Incomplete: nothing is entered yet."
    if verdict is Verdict.DECISION:
        open_checks = ", ".join(check.word for check, answer in judged.items() if answer.outcome in _OPEN)
        return f"Needs a decision: {open_checks}."
    return "Pass."


__all__ = [
    "SIMPLE", "CheckVerdict", "Decision", "Entry", "ItemVerdict", "Trip", "judge_entry", "judge_item",
]  # fmt: skip
