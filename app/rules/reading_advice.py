"""Advice that the readings themselves call for, beside what the item's own facts call for."""

from app.rules.advice import Advice, Severity
from app.rules.checks import ELECTRONIC, NO_HIGH_VOLTAGE, UNITS, Check, Step, describe_stand_in, may_be_harmed
from app.rules.entries import CheckVerdict
from app.rules.equipment import ItemFacts
from app.rules.fallbacks import DECIDING, MISSED, may_fall_back
from app.rules.limits import has_output_point
from app.rules.locks import list_stand_ins
from app.rules.rulebooks.figures import Rulebook
from app.rules.sequences import describe_left_out
from app.rules.verdicts import Outcome


def list_reading_advice(
    steps: tuple[Step, ...], judged: dict[Check, CheckVerdict], item: ItemFacts, rulebook: Rulebook
) -> list[Advice]:
    """List what the readings themselves call for."""
    found: list[Advice] = []
    for check, other in list_stand_ins(steps, judged).items():
        noted = judged[other.check].entry
        why = noted.note.rstrip(".") if noted is not None else ""
        told = f": {why}." if why else f", as it may {describe_stand_in(other, check)}: note why."
        text = f"The {other.check.word} stands in for the {check.word}{told}"
        found.append(Advice("stands-in", text, Severity.NOTE))
    known = {step.check for step in steps}
    for check, answer in judged.items():
        if check not in known and check is not Check.FUNCTIONAL:  # to try an item, or its test button, suits any
            text = f"The {check.word} is not part of the test sequence of this item under “{rulebook.title}”."
            found.append(Advice("outside-sequence", text, Severity.NOTE))
        if check is Check.DIELECTRIC_STRENGTH and answer.entry is not None and not answer.entry.note:
            found.append(
                Advice("name-competent-person", "Note the competent person who did the dielectric strength test.")
            )
        if check is Check.DIELECTRIC_STRENGTH and may_be_harmed(item) and answer.outcome is not Outcome.NOT_DONE:
            found.append(Advice("no-high-voltage", NO_HIGH_VOLTAGE))
        if check is Check.INSULATION_RESISTANCE and item.kind in ELECTRONIC and answer.outcome is not Outcome.FAIL:
            parts = answer.parts or (answer,)
            if not any(part.entry is not None and has_output_point(part.entry.point, item) for part in parts):
                text = "Nothing was measured from mains to the output side, which must stay separate from the mains."
                found.append(Advice("output-side", text, Severity.NOTE))
        if check in UNITS and answer.limit is None and answer.outcome is Outcome.PASS and answer.margin is None:
            found += _list_without_value(answer)
        if answer.outcome is Outcome.CONDITIONAL_PASS:
            text = f"The {check.word} passed only conditionally: {answer.sentence}"
            found.append(Advice("conditional-pass", text, Severity.NOTE))
        if answer.limit is not None and answer.limit.remark and answer.outcome is not Outcome.PASS:
            found.append(Advice("setting-matters", answer.limit.remark, Severity.NOTE))
        if answer.limit is not None and answer.limit.loosest is not None and answer.outcome is Outcome.INCONCLUSIVE:
            code = "load-above-rating" if check is Check.LOAD else "limit-needs-fact"
            found.append(Advice(code, answer.limit.wants))
    return found + _list_energised(steps, judged, may_fall_back(item, rulebook))


def _list_without_value(answer: CheckVerdict) -> list[Advice]:
    entry = answer.entry
    if entry is None or entry.outcome is not Outcome.PASS:
        return []
    return [Advice("no-value", f"The {answer.check.word} was noted as a pass without its value.", Severity.NOTE)]


def list_own_sequence_advice(own: tuple[Check, ...], item: ItemFacts, rulebook: Rulebook) -> tuple[Advice, ...]:
    text = describe_left_out(own, item, rulebook)
    return (Advice("left-out", text),) if text else ()


def _list_energised(steps: tuple[Step, ...], judged: dict[Check, CheckVerdict], falls_back: bool) -> list[Advice]:
    failed: Check | None = None
    for step in steps:
        answer = judged.get(step.check)
        if answer is None:
            continue
        if falls_back and step.check is DECIDING and failed is MISSED:
            continue  # it was right to measure what decides
        if failed is not None and step.energises and answer.outcome is not Outcome.NOT_DONE:
            text = (
                f"The {step.check.word} was done although the {failed.word} had failed: do not energise a failed item."
            )
            return [Advice("energised-after-failure", text)]
        if answer.outcome is Outcome.FAIL and failed is None:
            failed = step.check
    return []
