"""Heaters that miss their insulation limit, where the rulebook lets the protective conductor current decide."""

from dataclasses import replace

from app.rules.checks import Check, Step
from app.rules.entries import CheckVerdict
from app.rules.equipment import ItemFacts
from app.rules.quantities import describe_number
from app.rules.rulebooks.figures import UNCHECKED, Figure, Rulebook, Status
from app.rules.verdicts import GOOD, OPEN, Outcome

MISSED, DECIDING = Check.INSULATION_RESISTANCE, Check.PROTECTIVE_CONDUCTOR_CURRENT
_BELOW = (Outcome.FAIL, *OPEN)


def may_fall_back(item: ItemFacts, rulebook: Rulebook) -> bool:
    """Say whether the measured current may decide where this item misses its insulation limit."""
    threshold = rulebook.fallback_kw
    if threshold is None or item.rated_power_w is None:
        return False
    return item.heating and item.rated_power_w > threshold.value * 1000


def judge_fallback(
    judged: dict[Check, CheckVerdict], steps: tuple[Step, ...], item: ItemFacts, rulebook: Rulebook
) -> dict[Check, CheckVerdict]:
    """Settle an insulation resistance that is not surely within its limit by the protective conductor current.

    A current within its limit makes it a conditional pass; while the current is open, or still to be measured, so is
    the insulation; a current beyond its limit changes nothing. What a person called a fail, and a current without a
    number, settle nothing.
    """
    insulation, threshold = judged.get(MISSED), rulebook.fallback_kw
    if insulation is None or threshold is None or insulation.outcome not in _BELOW or not may_fall_back(item, rulebook):
        return judged
    if all(step.check is not DECIDING for step in steps) or not all(map(_has_number, _parts(insulation))):
        return judged
    current = judged.get(DECIDING)
    if current is None or current.outcome is Outcome.NOT_DONE:
        outcome, why = Outcome.INCONCLUSIVE, "until the protective conductor current is measured, which decides here"
    elif current.outcome is Outcome.FAIL or not all(map(_has_number, _parts(current))):
        return judged
    elif current.outcome in GOOD:
        outcome, why = Outcome.CONDITIONAL_PASS, "by the protective conductor current, which decides here"
    else:
        outcome, why = Outcome.INCONCLUSIVE, "as the protective conductor current is, which decides here"
    settled = _settled(insulation, outcome, why, threshold)
    parts = tuple(_settled(part, outcome, why, threshold) for part in insulation.parts)
    return {**judged, MISSED: replace(settled, parts=parts)}


def _parts(answer: CheckVerdict) -> tuple[CheckVerdict, ...]:
    return answer.parts or (answer,)


def _has_number(answer: CheckVerdict) -> bool:
    return answer.entry is not None and answer.entry.reading is not None


def _settled(answer: CheckVerdict, outcome: Outcome, why: str, threshold: Figure) -> CheckVerdict:
    if answer.outcome not in _BELOW:
        return answer
    head = answer.sentence.rpartition(f": {answer.outcome.word}")[0] or answer.sentence.removesuffix(".")
    power = f"{describe_number(threshold.value)} {threshold.unit_text}"
    text = f"{head}: {outcome.word} {why} (heating above {power}; {threshold.source}, {UNCHECKED})."
    limit = replace(answer.limit, status=Status.MEMORY) if answer.limit is not None else None
    source = f"{answer.source}; {threshold.source}"
    return replace(answer, outcome=outcome, sentence=text, limit=limit, source=source)
