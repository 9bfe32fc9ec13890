"""What differs between two rulebooks, by question: each book's own limit for the same usual item, worked out by the
rules that judge, then which checks each asks for, what may stand in for what, and how each is read.
"""

from dataclasses import dataclass
from itertools import groupby

from app.rules.checks import Check, check_sequence, describe_stand_in
from app.rules.equipment import ItemFacts, Kind
from app.rules.fallbacks import may_fall_back
from app.rules.limit_questions import (
    CHARGER,
    CLASS_I,
    CLASS_II,
    CLASS_III,
    COMPUTER,
    FUNCTIONAL_EARTH,
    OVEN,
    QUESTIONS,
    UNEARTHED,
    Question,
    limit_asked,
)
from app.rules.quantities import describe_bound, describe_number
from app.rules.rulebooks.figures import Figure, Rulebook, Status

#: What the sequences of the rulebooks are compared by.
SEQUENCES: tuple[tuple[str, ItemFacts], ...] = (
    ("Class I", CLASS_I),
    ("Class I, metal not joined to earth", UNEARTHED),
    ("Class I, IT equipment", COMPUTER),
    ("Class II", CLASS_II),
    ("Class II with functional earth", FUNCTIONAL_EARTH),
    ("Class III", CLASS_III),
    ("Extension lead", ItemFacts(kind=Kind.EXTENSION_LEAD)),
    ("RCD in a lead", ItemFacts(kind=Kind.RCD_LEAD)),
    ("Microwave oven", OVEN),
    ("Charger or power supply, Class II", CHARGER),
)


@dataclass(frozen=True)
class Answer:
    """What a rulebook says to a question: the limit or a sentence, with its working, source and status."""

    text: str
    working: str = ""
    source: str = ""
    status: Status = Status.SEEN


@dataclass(frozen=True)
class AnsweredPart:
    """One part of a rulebook in answers: what each usual item is called, and what holds for it."""

    title: str
    rows: tuple[tuple[str, Answer], ...]


@dataclass(frozen=True)
class ComparedRow:
    words: str
    one: Answer
    other: Answer

    @property
    def same(self) -> bool:
        """Whether both say the same; where they take it from may differ."""
        return self.one.text == self.other.text


@dataclass(frozen=True)
class ComparedPart:
    title: str
    rows: tuple[ComparedRow, ...]

    @property
    def differing(self) -> int:
        """In how many rows the two say something else."""
        return sum(not row.same for row in self.rows)


def list_answered_parts(rulebook: Rulebook) -> tuple[AnsweredPart, ...]:
    """List what a rulebook says for usual items, in the order of the test sequence: its limits, which checks it asks
    for, and what may stand in for what.
    """
    limits = [
        AnsweredPart(
            check.word[0].upper() + check.word[1:],
            tuple((question.words, _limit(question, rulebook)) for question in questions),
        )
        for check, questions in groupby(QUESTIONS, key=lambda each: each.check)
    ]
    asked = AnsweredPart("Checks asked for", tuple((words, _needed(item, rulebook)) for words, item in SEQUENCES))
    stand_ins = tuple((words, _stand_ins(item, rulebook)) for words, item in SEQUENCES[:5])
    missed = ("Class I heating that misses its insulation limit", _fallback(rulebook))
    return (*limits, asked, AnsweredPart("What may stand in for what", (*stand_ins, missed)))


def list_compared_parts(one: Rulebook, other: Rulebook) -> tuple[ComparedPart, ...]:
    """Compare two rulebooks question by question, and how each is read; rows that agree are among them."""
    parts = [
        ComparedPart(
            mine.title,
            tuple(
                ComparedRow(words, answer, theirs_to_it)
                for (words, answer), (_, theirs_to_it) in zip(mine.rows, theirs.rows, strict=True)
            ),
        )
        for mine, theirs in zip(list_answered_parts(one), list_answered_parts(other), strict=True)
    ]
    settings = ComparedPart("How it is read", _settings(one, other))
    return (*parts, settings) if settings.rows else tuple(parts)


def _limit(question: Question, rulebook: Rulebook) -> Answer:
    if question.check not in {step.check for step in check_sequence(question.item, rulebook)}:
        return Answer("Not measured")
    limit = limit_asked(question, rulebook)
    if limit is None:
        return Answer("Has none: a person decides")
    text = f"{limit.text[0].upper()}{limit.text[1:]}"
    if limit.loosest is not None and limit.loosest > 0:
        loosest = describe_bound(limit.loosest, upper=limit.at_most is not None)
        text += f"; a person decides up to {loosest} {limit.unit.symbol}"
        if limit.at_most is None:
            text = text.replace("decides up to", "decides down to")
    elif limit.loosest is not None:
        text += "; below it a person decides"
    return Answer(text, limit.whole_working, limit.source, limit.status)


def _needed(item: ItemFacts, rulebook: Rulebook) -> Answer:
    steps = check_sequence(item, rulebook)
    words = ", ".join(step.check.word for step in steps if step.required)
    optional = ", ".join(step.check.word for step in steps if not step.required)
    return Answer(words[0].upper() + words[1:], f"Where it applies, or to stand in: {optional}" if optional else "")


def _stand_ins(item: ItemFacts, rulebook: Rulebook) -> Answer:
    said: dict[tuple[Check, str], list[str]] = {}
    for step in check_sequence(item, rulebook):
        for check in step.instead_of:
            said.setdefault((check, describe_stand_in(step, check)), []).append(step.check.word)
    lines = [f"For the {check.word}: {' or '.join(words)}, {when}" for (check, when), words in said.items()]
    return Answer(". ".join(lines) if lines else "Nothing")


def _fallback(rulebook: Rulebook) -> Answer:
    threshold = rulebook.fallback_kw
    example = ItemFacts(heating=True, rated_power_w=(threshold.value + 1) * 1000 if threshold else None)
    if threshold is None or not may_fall_back(example, rulebook):
        return Answer("Has failed")
    power = f"{describe_number(threshold.value)} {threshold.unit_text}"
    text = f"Above {power} the protective conductor current decides; else it has failed"
    return Answer(text, "", threshold.source, threshold.status)


def _settings(one: Rulebook, other: Rulebook) -> tuple[ComparedRow, ...]:
    titles = {setting.key: setting.title for book in (one, other) for setting in book.settings}
    return tuple(ComparedRow(title, _chosen(one, key), _chosen(other, key)) for key, title in titles.items())


def _chosen(rulebook: Rulebook, key: str) -> Answer:
    setting = next((each for each in rulebook.settings if each.key == key), None)
    return Answer("Has no such choice") if setting is None else Answer(setting.chosen, setting.note)


def list_differences(one: Rulebook, other: Rulebook) -> tuple[tuple[str, Figure | None, Figure | None], ...]:
    """List the figures in which two rulebooks differ, by key: the one's and the other's, None where it has none."""
    left = {figure.key: figure for figure in one.figures}
    right = {figure.key: figure for figure in other.figures}
    found = []
    for key in dict.fromkeys([*left, *right]):
        mine, theirs = left.get(key), right.get(key)
        if mine is None or theirs is None or (mine.value, mine.unit) != (theirs.value, theirs.unit):
            found.append((key, mine, theirs))
    return tuple(found)
