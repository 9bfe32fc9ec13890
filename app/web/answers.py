"""What the visit sheet says of an item while it is being worked on: a line for each field, the verdict so far, and
what is locked. Judged by the same rules as what is saved.
"""

import re
from dataclasses import dataclass

from app.rules.advice import Advice, list_advice
from app.rules.equipment import ItemFacts
from app.rules.judging import Judging, judge_visit_item, list_shut_entries
from app.rules.limits import number_spare
from app.rules.quantities import convert_for_lead, describe_number
from app.rules.readings import CheckVerdict, Entry, ItemVerdict, judge_entry
from app.rules.verdicts import Outcome
from app.web.entry_fields import list_typed_entries
from app.web.fields import Form
from app.web.sheet_steps import list_sheet_steps

#: A number that is still being typed is not called a mistake yet.
UNFINISHED = re.compile(r"[<>]?\s*[0-9]*[.,]?\s*")
#: Advice that stands beside its field already, or above all of them.
SAID_BESIDE = ("conditional-pass", "limit-needs-fact", "left-out")


@dataclass(frozen=True)
class Line:
    """The answer to one field. outcome is empty where what was typed cannot be used."""

    outcome: str
    sentence: str


@dataclass(frozen=True)
class Answers:
    """lines by field name, locked and waiting by check; verdict is empty while nothing is entered."""

    verdict: str
    sentence: str
    lines: dict[str, Line]
    locked: dict[str, str]
    waiting: dict[str, str]
    advice: tuple[str, ...]


def show_answers(form: Form, facts: ItemFacts, judging: Judging) -> Answers:
    """Judge what stands in the form. Notes no mistakes in it."""
    asked = Form(dict(form.values))
    typed = list_typed_entries(asked, facts, judging, typing=True)
    entries = [entry for _, entry in typed]
    shut = {id(entry) for entry, _ in list_shut_entries(facts, entries, judging)}
    allowed = [(field, entry) for field, entry in typed if id(entry) not in shut]
    verdict = judge_visit_item(facts, [entry for _, entry in allowed], judging)
    lines = {
        field.name: _line(judge_entry(entry, facts, judging.rulebook, judging.decision))
        for field, entry in allowed
        if field.kind != "visual"
    }
    for step in list_sheet_steps(facts, judging):
        for field in step.fields:
            sentence = asked.mistake(field.name)
            if sentence and not UNFINISHED.fullmatch(asked.value(field.name)):
                lines[field.name] = Line("", sentence)
    return Answers(
        verdict=verdict.verdict.value if allowed else "",
        sentence=_so_far(verdict) if allowed else "",
        lines=lines,
        locked={check.value: sentence for check, sentence in verdict.locked},
        waiting={check.value: sentence for check, sentence in verdict.waiting},
        advice=_advice(verdict, list_advice(facts)),
    )


def _line(judged: CheckVerdict) -> Line:
    """What is not a plain pass is said whole; the limit of a pass stands beside the field already."""
    margin, limit = judged.margin, judged.limit
    if judged.outcome is Outcome.PASS and limit is not None:
        entry = judged.entry
        exact = entry is not None and entry.reading is not None and entry.reading.bound == "exact"
        net = _without_lead(entry)
        if margin is None or not exact:
            return Line(judged.outcome.value, net)
        spare = describe_number(number_spare(margin, limit.at_least, limit.at_most))
        spare = f"{spare}\u00a0{limit.unit.symbol} to spare" if margin else "exactly at the limit"
        return Line(judged.outcome.value, f"{net}; {spare}" if net else spare)
    if judged.entry is not None and judged.entry.reading is None:
        return Line(judged.outcome.value, "")
    return Line(judged.outcome.value, judged.sentence)


def _without_lead(entry: Entry | None) -> str:
    """The reading as it is judged, where a test lead is subtracted."""
    if entry is None or entry.reading is None or entry.lead is None:
        return ""
    net = convert_for_lead(entry.reading, entry.lead)
    return f"{net.bound.sign}{describe_number(net.value)}\u00a0{net.unit.symbol} without the test lead"


def _so_far(verdict: ItemVerdict) -> str:
    """The item's sentence without the verdict's own word, which stands before it."""
    said = verdict.sentence.split(": ", 1)[-1] if ": " in verdict.sentence else ""
    return said[:1].upper() + said[1:]


def _advice(verdict: ItemVerdict, known: tuple[Advice, ...]) -> tuple[str, ...]:
    texts = [advice.text for advice in verdict.advice if advice not in known and advice.code not in SAID_BESIDE]
    return (*texts, *(sentence for _, sentence in verdict.unfinished))
