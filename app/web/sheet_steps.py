"""The steps and fields of an item's visit sheet: which checks, in which order, with which limit beside each field.

Every field is named after its check, so that a sheet kept on a tablet sends the same names as the page does.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from app.rules.checks import CURRENTS, LEADS, Check, Step, check_sequence
from app.rules.equipment import ItemFacts
from app.rules.limits import Limit, limit_for
from app.rules.quantities import Unit, describe_number
from app.rules.rcds import HALF, list_trip_tests
from app.rules.rulebooks import Rulebook

CHOICE_WORDS = {
    Check.POLARITY: ("Right throughout", "Crossed or broken"),
    Check.FUNCTIONAL: ("Works as it should", "Does not"),
}
#: Checks that are usual although no rulebook asks for them, so they are not folded away.
USUAL = (Check.FUNCTIONAL, Check.LOAD)
NO_RATING = "The rated power is not noted, so there is nothing to compare a load with."
NO_RCD_FACTS = "The rated current of the RCD is not noted, so its trip times have no limit."


@dataclass(frozen=True)
class SheetField:
    """One field: kind is reading, choice, trip or visual.

    limit and working stand beside it before anything is typed; wants asks for a fact without which the limit is
    only the strictest one possible.
    """

    name: str
    check: Check
    kind: str
    label: str
    unit: Unit | None = None
    limit: str = ""
    working: str = ""
    wants: str = ""
    point: str = ""
    multiple: Decimal | None = None
    phase_deg: int | None = None

    @property
    def words(self) -> tuple[str, str]:
        return CHOICE_WORDS.get(self.check, ("Satisfactory", "Not satisfactory"))


@dataclass(frozen=True)
class SheetPart:
    """The fields of one check; no fields where something has to be known first, which instead says."""

    check: Check
    label: str
    fields: tuple[SheetField, ...]
    instead: str = ""


@dataclass(frozen=True)
class SheetStep:
    """One numbered step: mostly one check. A folded step is there for when it is needed, as when says."""

    title: str
    parts: tuple[SheetPart, ...]
    cautions: tuple[str, ...]
    how: str
    folded: bool = False
    when: str = ""

    @property
    def fields(self) -> Iterator[SheetField]:
        return (field for part in self.parts for field in part.fields)


def list_sheet_steps(facts: ItemFacts, rulebook: Rulebook) -> list[SheetStep]:
    """The steps of an item's sheet in their order: load beside function, seldom needed checks folded together."""
    groups: list[list[Step]] = []
    for step in check_sequence(facts, rulebook):
        before = groups[-1][-1] if groups else None
        together = before is not None and (
            (before.check is Check.FUNCTIONAL and step.check is Check.LOAD) or (_is_seldom(before) and _is_seldom(step))
        )
        if together:
            groups[-1].append(step)
        else:
            groups.append([step])
    told: set[str] = set()
    steps = []
    for group in groups:
        cautions = tuple(dict.fromkeys(caution for step in group for caution in step.cautions))
        if not _is_seldom(group[0]):
            # A caution stands where it first matters; said at every step it would be read at none.
            cautions = tuple(caution for caution in cautions if caution not in told)
            told.update(cautions)
        steps.append(_sheet_step(group, facts, rulebook, cautions))
    return steps


def _sheet_step(group: list[Step], facts: ItemFacts, rulebook: Rulebook, cautions: tuple[str, ...]) -> SheetStep:
    first = group[0]
    folded = _is_seldom(first)
    title = first.label
    if folded and all(step.check in CURRENTS for step in group) and len(group) > 1:
        title = "Leakage currents"
    how = " ".join(dict.fromkeys(step.how for step in group)) if not folded else ""
    parts = tuple(_part(step, facts, rulebook) for step in group)
    return SheetStep(title, parts, cautions, how, folded, next((step.when for step in group if step.when), ""))


def _is_seldom(step: Step) -> bool:
    return not step.required and step.check not in USUAL


def _part(step: Step, facts: ItemFacts, rulebook: Rulebook) -> SheetPart:
    check = step.check
    if check is Check.VISUAL:
        return SheetPart(check, step.label, (SheetField("visual", check, "visual", step.label),))
    if check is Check.RCD_TRIP_TIME:
        return _trip_part(step, facts, rulebook)
    if step.unit is None:
        return SheetPart(check, step.label, (SheetField(check.value, check, "choice", step.label),))
    limit = limit_for(check, facts, rulebook)
    if limit is None and check is Check.LOAD:
        return SheetPart(check, step.label, (), NO_RATING)
    words = _limit_words(limit, f"{rulebook.title} gives no limit: a person decides.")
    unit = limit.unit if limit else step.unit
    points = [""]
    if check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and facts.kind in LEADS and facts.outlets > 1:
        points = [f"outlet {number}" for number in range(1, facts.outlets + 1)]
    fields = []
    for place, point in enumerate(points, 1):
        name, label = (f"{check.value}-{place}", point.capitalize()) if point else (check.value, step.label)
        fields.append(SheetField(name, check, "reading", label, unit, *words, point))
    return SheetPart(check, step.label, tuple(fields))


def _trip_part(step: Step, facts: ItemFacts, rulebook: Rulebook) -> SheetPart:
    rcd = facts.rcd
    if rcd is None:
        return SheetPart(step.check, step.label, (), NO_RCD_FACTS)
    fields = []
    for multiple, phase in list_trip_tests(rcd):
        times, current = f"{describe_number(multiple)} ×", f"{describe_number(rcd.rated_ma * multiple)} mA"
        limit = limit_for(step.check, facts, rulebook, multiple=multiple)
        words = _limit_words(limit, f"{rcd.product} gives no time: a person decides.")
        if multiple <= HALF:
            name = f"{step.check.value}-half"
            fields.append(SheetField(name, step.check, "trip", f"{current} ({times})", None, *words, "", multiple))
        else:
            name = f"{step.check.value}-{describe_number(multiple)}-{phase}"
            label = f"{current} ({times}) at {phase}°"
            fields.append(SheetField(name, step.check, "reading", label, Unit.MILLISECOND, *words, "", multiple, phase))
    return SheetPart(step.check, step.label, tuple(fields))


def _limit_words(limit: Limit | None, otherwise: str) -> tuple[str, str, str]:
    """The limit, how it came about and from where, and the fact that is missing for it."""
    if limit is None:
        return otherwise, "", ""
    working = f"= {limit.working}" if limit.is_sum else limit.working
    if not limit.is_sum and limit.source not in working:
        working += f"; {limit.source}"
    return f"{limit.text[:1].upper()}{limit.text[1:]}", working, limit.wants
