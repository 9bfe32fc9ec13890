"""Judges an item from its readings: each check, what is missing, what is locked, what else is to be said.

A missing required check makes the item incomplete, never pass.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from app.rules.advice import Advice, Severity, describe_unsafe, list_advice
from app.rules.checks import Check, Step
from app.rules.entries import SIMPLE, CheckVerdict, Decision, Entry, Trip, judge_entry
from app.rules.equipment import ItemFacts
from app.rules.fallbacks import judge_fallback, may_fall_back
from app.rules.locks import list_locked, list_missing, list_unfinished, list_waiting
from app.rules.reading_advice import list_own_sequence_advice, list_reading_advice
from app.rules.rulebooks.figures import Rulebook
from app.rules.sequences import list_chosen_steps
from app.rules.verdicts import OPEN, Outcome, Verdict

# From best to worst: the worst of several readings is the answer of their check.
_ORDER = (
    Outcome.NOT_DONE, Outcome.PASS, Outcome.CONDITIONAL_PASS, Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL,
    Outcome.FAIL,
)  # fmt: skip
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
    again: tuple[Check, ...] = (),
) -> ItemVerdict:
    """Judge an item from everything entered for it, in whatever order it was entered.

    With partial only what is given counts, were it nothing; what is missing is still listed. own is a firm's own
    sequence in place of the rulebook's; what it leaves out is told. again are checks that the item failed before.
    Raises ValueError for an entry that cannot be judged (see judge_entry).
    """
    steps = list_chosen_steps(item, rulebook, own=own, again=again, dielectric=dielectric, after_repair=after_repair)
    judged = _judge_checks(entries, item, rulebook, decision, steps)
    judged = judge_fallback(judged, steps, item, rulebook)
    falls_back = may_fall_back(item, rulebook)
    locked = list_locked(steps, judged, falls_back, describe_unsafe(item))
    missing = list_missing(steps, judged)
    unfinished = list_unfinished(judged, item)
    advice = (*list_advice(item), *list_reading_advice(steps, judged, item, rulebook))
    if own is not None:
        advice += list_own_sequence_advice(own, item, rulebook)
    shut = {check for check, _ in locked}
    to_do = [check for check in missing if check not in shut] + [check for check, _ in unfinished]
    verdict = _verdict(judged, to_do, advice, partial)
    return ItemVerdict(
        verdict, tuple(judged.values()), missing, locked, advice, rulebook.id, rulebook.version,
        _sentence(verdict, judged, to_do, advice), list_waiting(steps, judged, missing, locked), unfinished,
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


def _verdict(
    judged: dict[Check, CheckVerdict], to_do: list[Check], advice: tuple[Advice, ...], partial: bool
) -> Verdict:
    outcomes = [answer.outcome for answer in judged.values()]
    if Outcome.FAIL in outcomes or any(each.severity is Severity.FAIL for each in advice):
        return Verdict.FAIL
    if to_do and not partial:
        return Verdict.INCOMPLETE
    if all(outcome is Outcome.NOT_DONE for outcome in outcomes) and (outcomes or not partial):
        return Verdict.INCOMPLETE
    if any(outcome in OPEN for outcome in outcomes):
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
        open_checks = ", ".join(check.word for check, answer in judged.items() if answer.outcome in OPEN)
        return f"Needs a decision: {open_checks}."
    return "Pass." if judged else "Pass, as far as it goes: no reading was given."


__all__ = [
    "SIMPLE", "CheckVerdict", "Decision", "Entry", "ItemVerdict", "Trip", "judge_entry", "judge_item",
]  # fmt: skip
