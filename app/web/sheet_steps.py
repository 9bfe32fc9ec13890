"""The steps and fields of an item's visit sheet: which checks, in which order, with which limit beside each field.

Every field is named after its check, so that a sheet kept on a tablet sends the same names as the page does.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from app.rules.acceptance import describe_accepted
from app.rules.checks import (
    CURRENTS,
    ELECTRONIC,
    HANDS_OFF,
    LEADS,
    Check,
    Step,
    describe_alternatives,
    list_stand_in_reasons,
    may_be_harmed,
    suggest_insulation_volts,
)
from app.rules.decisions import DecisionRule
from app.rules.equipment import ItemFacts, Kind, Supply
from app.rules.fuses import suggest_earth_test_current
from app.rules.judging import Judging, list_steps
from app.rules.limits import OUTPUT, Limit, limit_for
from app.rules.points import Way, describe_measured_point
from app.rules.quantities import Unit, describe_number
from app.rules.rcds import HALF, list_trip_tests

FOLDED = "where another check cannot be done"
WHERE_IT_APPLIES = "where it applies"
FAILED_BEFORE = "failed last time, so it is repeated"
CHOICE_WORDS = {
    Check.POLARITY: ("Right throughout", "Crossed or broken"),
    Check.FUNCTIONAL: ("Works as it should", "Does not"),
}
#: Checks that are usual although no rulebook asks for them, so they are not folded away.
USUAL = (Check.FUNCTIONAL, Check.LOAD)
#: How many exposed metal parts of one item the sheet takes.
PLACES_MOST = 8
NO_RATING = "The rated power is not noted, so there is nothing to compare a load with."
NO_RCD_FACTS = "The rated current of the RCD is not noted, so its trip times have no limit."


@dataclass(frozen=True)
class SheetField:
    """One field: kind is reading, choice, trip or visual.

    limit and working stand beside it before anything is typed; wants asks for a fact without which the limit is
    only the strictest one possible. place counts the metal parts that a person names, 0 where there is nothing to name;
    way is the direction of a d.c. current; by is the only person who may do it, empty where anybody may. outlets counts
    those of which a defect names the ones it is at; stands_for are the checks that it may stand in for, reasons why.
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
    place: int = 0
    way: Way | None = None
    by: str = ""
    outlets: int = 0
    stands_for: tuple[Check, ...] = ()
    reasons: tuple[str, ...] = ()

    @property
    def may_jump(self) -> bool:
        return self.check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE

    @property
    def words(self) -> tuple[str, str]:
        if self.outlets:
            return "Right at every outlet", "Crossed or broken"
        return CHOICE_WORDS.get(self.check, ("Satisfactory", "Not satisfactory"))


@dataclass(frozen=True)
class SheetPart:
    """The fields of one check; no fields where something has to be known first, which instead says.

    with_what says what is tested with, in a few words; when and how stand at the part itself where its step is folded.
    """

    check: Check
    label: str
    fields: tuple[SheetField, ...]
    instead: str = ""
    with_what: str = ""
    when: str = ""
    how: str = ""


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


def list_sheet_steps(facts: ItemFacts, judging: Judging) -> list[SheetStep]:
    """The steps of an item's sheet in their order: load beside function, seldom needed checks folded together."""
    groups: list[list[Step]] = []
    for step in list_steps(facts, judging):
        before = groups[-1][-1] if groups else None
        together = before is not None and (
            (before.check is Check.FUNCTIONAL and step.check is Check.LOAD)
            or (_is_seldom(before) and _is_seldom(step) and Check.DIELECTRIC_STRENGTH not in (before.check, step.check))
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
            # A caution stands where it first matters; said at every step it would be read at none. Hands off an item
            # that is live is said each time.
            live = any(step.energises for step in group)
            cautions = tuple(each for each in cautions if each not in told or (live and each == HANDS_OFF))
            told.update(cautions)
        steps.append(_sheet_step(group, facts, judging, cautions))
    return steps


def _sheet_step(group: list[Step], facts: ItemFacts, judging: Judging, cautions: tuple[str, ...]) -> SheetStep:
    first = group[0]
    folded = _is_seldom(first)
    title = first.label
    if folded and all(step.check in CURRENTS for step in group) and len(group) > 1:
        title = "Leakage currents"
    how = " ".join(dict.fromkeys(step.how for step in group)) if not folded else ""
    parts = [_part(step, facts, judging) for step in group]
    parts = [replace(part, with_what=_joined(_with_what(part.check, facts), part.with_what)) for part in parts]
    when = ""
    if folded:
        told = [describe_alternatives(step) for step in group]
        parts = [
            replace(part, when=alternatives, how=step.how)
            for part, step, alternatives in zip(parts, group, told, strict=True)
        ]
        when = FOLDED if any(told) else WHERE_IT_APPLIES
    if first.check is Check.DIELECTRIC_STRENGTH:
        when = f"only by {judging.dielectric_by}, whom the firm has named as competent"
    if any(step.check in judging.again for step in group):
        when = FAILED_BEFORE
    return SheetStep(title, tuple(parts), cautions, how, folded, when)


def _joined(*words: str) -> str:
    return "; ".join(each for each in words if each)


def _with_what(check: Check, facts: ItemFacts) -> str:
    """The voltage or current of a test, where it depends on the item."""
    if check is Check.INSULATION_RESISTANCE:
        three = facts.supply is Supply.THREE_PHASE_400 or facts.kind is Kind.THREE_PHASE_LEAD
        joined = "all lines and neutral" if three else "line and neutral"
        return f"{suggest_insulation_volts(facts)} V d.c., {joined} joined"
    if check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and may_be_harmed(facts):
        return "20 to 200 mA"  # the caution of the step says why
    if check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and facts.fuse_a is not None:
        return f"20 to 200 mA, or {describe_number(suggest_earth_test_current(facts.fuse_a))} A for 5 to 20 s"
    return ""


def _is_seldom(step: Step) -> bool:
    return not step.required and step.check not in USUAL


def _part(step: Step, facts: ItemFacts, judging: Judging) -> SheetPart:
    check, rulebook = step.check, judging.rulebook
    if check is Check.VISUAL:
        return SheetPart(check, step.label, (SheetField("visual", check, "visual", step.label),))
    if check is Check.RCD_TRIP_TIME:
        return _trip_part(step, facts, judging)
    if step.unit is None:
        several = facts.outlets if check is Check.POLARITY and facts.outlets > 1 else 0
        return SheetPart(check, step.label, (SheetField(check.value, check, "choice", step.label, outlets=several),))
    limit = limit_for(check, facts, rulebook, temperature_c=judging.conductor_c)
    if limit is None and check is Check.LOAD:
        return SheetPart(check, step.label, (), NO_RATING)
    otherwise = f"{rulebook.title} gives no limit: a person decides."
    first = SheetField(
        check.value, check, "reading", step.label, step.unit, *_limit_words(limit, otherwise, judging, check)
    )
    first = replace(first, unit=limit.unit if limit else step.unit)
    if check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE:
        fields = tuple(_earth_fields(first, facts, judging.both_ways))
        if not fields[0].point:
            return SheetPart(check, step.label, fields)
        # Several outlets, or both ways round, have one limit: how it comes about is told once.
        told = f"limit {first.working}" if first.working.startswith("=") else first.working
        return SheetPart(check, step.label, tuple(replace(each, working="") for each in fields), with_what=told)
    if check is Check.INSULATION_RESISTANCE and facts.kind in ELECTRONIC:
        separate = limit_for(check, facts, rulebook, point=OUTPUT)
        limit_text, working, _ = _limit_words(separate, otherwise, judging, check)
        output = replace(first, name=f"{check.value}-{OUTPUT}", label="From mains to output side", point=OUTPUT)
        output = replace(output, limit=limit_text, working=working, wants="")
        return SheetPart(check, step.label, (replace(first, label="To earth or to the case"), output))
    if check is Check.DIELECTRIC_STRENGTH:
        first = replace(first, by=judging.dielectric_by)
    if step.instead_of:
        first = replace(first, stands_for=step.instead_of, reasons=list_stand_in_reasons(step))
    return SheetPart(check, step.label, (first,))


def _earth_fields(first: SheetField, facts: ItemFacts, both_ways: bool) -> Iterator[SheetField]:
    """A field for every outlet of a lead, or for every metal part that a person may name; each way round on d.c."""
    is_lead = facts.kind in LEADS or facts.kind is Kind.PORTABLE_RCD
    outlets = facts.outlets if is_lead and facts.outlets > 1 else 0
    for number in range(1, (outlets or (1 if is_lead else PLACES_MOST)) + 1):
        point = f"outlet {number}" if outlets else ""
        name = f"{first.name}-{number}" if outlets or number > 1 else first.name
        label = point.capitalize() if outlets else f"Metal part {number}" if number > 1 else first.label
        place = 0 if is_lead else number
        if not both_ways:
            yield replace(first, name=name, label=label, point=point, place=place)
            continue
        for way in Way:
            own_name = name if way is Way.FORWARD else f"{name}-{way.value}"
            own_label = way.value.capitalize() if label == first.label else f"{label}, {way.value}"
            whole = describe_measured_point(point, way)
            yield replace(first, name=own_name, label=own_label, point=whole, place=place, way=way)


def _trip_part(step: Step, facts: ItemFacts, judging: Judging) -> SheetPart:
    rcd, rulebook = facts.rcd, judging.rulebook
    if rcd is None:
        return SheetPart(step.check, step.label, (), NO_RCD_FACTS)
    fields = []
    for multiple, phase in list_trip_tests(rcd):
        times, current = f"{describe_number(multiple)} ×", f"{describe_number(rcd.rated_ma * multiple)} mA"
        limit = limit_for(step.check, facts, rulebook, multiple=multiple)
        words = _limit_words(limit, f"{rcd.product} gives no time: a person decides.", judging, step.check)
        if multiple <= HALF:
            name = f"{step.check.value}-half"
            fields.append(SheetField(name, step.check, "trip", f"{current} ({times})", None, *words, "", multiple))
        else:
            name = f"{step.check.value}-{describe_number(multiple)}-{phase}"
            label = f"{current} ({times}) at {phase}°"
            fields.append(SheetField(name, step.check, "reading", label, Unit.MILLISECOND, *words, "", multiple, phase))
    return SheetPart(step.check, step.label, tuple(fields))


def _limit_words(limit: Limit | None, otherwise: str, judging: Judging, check: Check) -> tuple[str, str, str]:
    """The limit with what is accepted, how it came about and from where, and the fact that is missing for it."""
    if limit is None:
        return otherwise, "", ""
    working = f"= {limit.working}" if limit.is_sum and not limit.is_rounded else limit.whole_working
    if not limit.is_sum and limit.source not in working:
        working += f"; {limit.source}"
    accepted = describe_accepted(limit, check, judging.ranges) if judging.rule is not DecisionRule.SIMPLE else ""
    return f"{limit.text[:1].upper()}{limit.text[1:]}{accepted}", f"{working[:1].upper()}{working[1:]}", limit.wants
