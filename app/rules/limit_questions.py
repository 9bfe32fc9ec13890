"""The questions that a rulebook is asked when its limits are shown or compared: one usual item each, by check, in the
order of the test sequence. The items are our own choice, made so that every limit of the rulebooks comes up.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from app.rules.checks import Check, check_sequence
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Use
from app.rules.limits import OUTPUT, Limit, limit_for
from app.rules.rulebooks.figures import Rulebook


@dataclass(frozen=True)
class Question:
    """One check of one usual item. words says what the item is; point as limit_for takes it."""

    check: Check
    words: str
    item: ItemFacts
    point: str = ""


def _cord(csa: str, length: str) -> Cord:
    return Cord(Decimal(csa), Decimal(length))


def _heating(kilowatts: str | None) -> ItemFacts:
    power = None if kilowatts is None else Decimal(kilowatts) * 1000
    return ItemFacts(use=Use.STATIONARY, heating=True, rated_power_w=power)


CLASS_I = ItemFacts()
CLASS_II = ItemFacts(construction=Construction.CLASS_II)
CLASS_III = ItemFacts(construction=Construction.CLASS_III)
FUNCTIONAL_EARTH = ItemFacts(construction=Construction.CLASS_II_FUNCTIONAL_EARTH)
UNEARTHED = ItemFacts(earthed_metal=False)
COMPUTER = ItemFacts(use=Use.IT)
CHARGER = ItemFacts(kind=Kind.CHARGER, construction=Construction.CLASS_II)
OVEN = ItemFacts(kind=Kind.MICROWAVE_OVEN)

_EARTH: tuple[tuple[str, ItemFacts], ...] = (
    *(
        (f"Class I, cord {length} m of {csa} mm²", ItemFacts(cord=_cord(csa, length)))
        for csa, length in (("0.75", "2"), ("1.0", "5"), ("1.25", "10"))
    ),
    *(
        (f"Extension lead, {length} m of {csa} mm²", ItemFacts(kind=Kind.EXTENSION_LEAD, cord=_cord(csa, length)))
        for csa, length in (("1.5", "25"), ("1.5", "50"), ("2.5", "25"), ("2.5", "50"))
    ),
    ("Class I, fixed, no cord", ItemFacts(use=Use.FIXED, cord=None)),
    ("Class I, cord not measured", ItemFacts(cord=Cord())),
)
_INSULATION: tuple[tuple[str, ItemFacts], ...] = (
    ("Class I", CLASS_I),
    *((f"Class I heating, {power} kW", _heating(power)) for power in ("2", "5")),
    ("Class I heating, power not known", _heating(None)),
    ("Class II", CLASS_II),
    ("Class II with functional earth", FUNCTIONAL_EARTH),
    ("Class III", CLASS_III),
)
_CURRENT: tuple[tuple[str, ItemFacts], ...] = (
    ("Class I, hand-held or portable", CLASS_I),
    ("Class I, movable, stationary or fixed", ItemFacts(use=Use.STATIONARY)),
    ("Class I, IT equipment", COMPUTER),
    *((f"Class I heating, {power} kW", _heating(power)) for power in ("2", "6", "12")),
    ("Class I heating, power not known", _heating(None)),
)
_TOUCH: tuple[tuple[str, ItemFacts], ...] = (
    ("Class II", CLASS_II),
    ("Class II with functional earth", FUNCTIONAL_EARTH),
    ("Class I, metal not joined to earth", UNEARTHED),
    ("Class I, parts beside the earthed metal", CLASS_I),
)

QUESTIONS: tuple[Question, ...] = (
    *(Question(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, words, item) for words, item in _EARTH),
    *(Question(Check.INSULATION_RESISTANCE, words, item) for words, item in _INSULATION),
    Question(Check.INSULATION_RESISTANCE, "Charger or power supply, mains to output side", CHARGER, OUTPUT),
    *(Question(Check.SUBSTITUTE_LEAKAGE_CURRENT, words, item) for words, item in (*_CURRENT, *_TOUCH[:3])),
    *(Question(Check.PROTECTIVE_CONDUCTOR_CURRENT, words, item) for words, item in _CURRENT),
    *(Question(Check.TOUCH_CURRENT, words, item) for words, item in _TOUCH),
    Question(Check.MICROWAVE_LEAKAGE, "Microwave oven", OVEN),
)


def list_questions(check: Check, construction: Construction | None = None) -> tuple[Question, ...]:
    """List the questions about a check; with a class only those about items of that class."""
    return tuple(
        each
        for each in QUESTIONS
        if each.check is check and construction in (None, each.item.construction, each.item.tested_as)
    )


def limit_asked(question: Question, rulebook: Rulebook) -> Limit | None:
    """Give the limit with which a rulebook answers a question, None where it has none."""
    return limit_for(question.check, question.item, rulebook, point=question.point)


def list_limits_asked(
    check: Check, rulebook: Rulebook, construction: Construction | None = None
) -> Iterator[tuple[Question, Limit]]:
    """List the limits of a check for usual items, those that the test sequence of the item does not hold left out."""
    for question in list_questions(check, construction):
        limit = limit_asked(question, rulebook)
        if limit is not None and check in {step.check for step in check_sequence(question.item, rulebook)}:
            yield question, limit


def list_stricter(
    check: Check, rulebook: Rulebook, stricter: Rulebook, construction: Construction | None = None
) -> tuple[Question, ...]:
    """List the questions that a rulebook with a house limit over it answers more strictly than without."""
    found = []
    for question, limit in list_limits_asked(check, rulebook, construction):
        with_own = limit_asked(question, stricter)
        if with_own is not None and (with_own.at_most, with_own.at_least) != (limit.at_most, limit.at_least):
            found.append(question)
    return tuple(found)
