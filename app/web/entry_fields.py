"""The fields of the visit sheet: which ones an item needs, what they show, and what was typed in them as entries.

Every field is named after its check, so that a sheet kept on a tablet sends the same names as the page does.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from app.rules.checks import CURRENTS, LEADS, Check, Step, VisualPoint, check_sequence, list_visual_points
from app.rules.equipment import ItemFacts
from app.rules.limits import Limit, limit_for
from app.rules.locks import list_locked_entries
from app.rules.quantities import Bound, Unit, describe_number, parse_reading
from app.rules.rcds import HALF, list_trip_tests
from app.rules.readings import Entry, Trip, judge_entry
from app.rules.rulebooks import Rulebook
from app.rules.verdicts import Outcome
from app.store.readings import ReadingRow
from app.web.fields import Form

#: What the two big buttons of a check without a number send.
GOOD, BAD = "satisfactory", "defect"
CHOICE_WORDS = {
    Check.POLARITY: ("Right throughout", "Crossed or broken"),
    Check.FUNCTIONAL: ("Works as it should", "Does not"),
}
SOMETHING_ELSE = VisualPoint("other", "Something else that is wrong")
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
            (before.check is Check.FUNCTIONAL and step.check is Check.LOAD)
            or (_is_seldom(before) and _is_seldom(step))
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


def list_points(facts: ItemFacts) -> tuple[VisualPoint, ...]:
    """What to look at on the item, and a place for what is not on the list."""
    return (*list_visual_points(facts), SOMETHING_ELSE)


def show_entries(rows: Iterable[ReadingRow], facts: ItemFacts, rulebook: Rulebook) -> dict[str, str]:
    """What each field shows for what was recorded, by field name."""
    fields = {_key(field): field for step in list_sheet_steps(facts, rulebook) for field in step.fields}
    codes = {point.text: point.code for point in list_points(facts)}
    shown: dict[str, str] = {}
    for row in rows:
        check = Check(row.check)
        if check is Check.VISUAL:
            shown["visual"] = GOOD if row.outcome == Outcome.PASS else BAD
            if row.point:
                code = codes.get(row.point, SOMETHING_ELSE.code)
                shown |= {f"defect-{code}": "yes", f"note-{code}": row.note}
            continue
        field = fields.get((check, row.point, row.multiple, row.phase_deg))
        if field is None:
            continue
        if row.value is not None:
            shown[field.name] = f"{Bound(row.bound).sign}{row.value:f}"
        else:
            shown[field.name] = GOOD if row.outcome in (Outcome.PASS, Outcome.CONDITIONAL_PASS) else BAD
        if row.note:
            shown[f"note-{check.value}"] = row.note
    return shown


def show_last(rows: Iterable[ReadingRow], facts: ItemFacts, rulebook: Rulebook) -> dict[str, str]:
    """What was read the time before, with its unit, by field name."""
    fields = {_key(field): field for step in list_sheet_steps(facts, rulebook) for field in step.fields}
    last = {}
    for row in rows:
        field = fields.get((Check(row.check), row.point, row.multiple, row.phase_deg))
        if field is not None and row.value is not None:
            last[field.name] = f"{Bound(row.bound).sign}{row.value:f}\u00a0{Unit(row.unit).symbol}"
    return last


def new_entries(form: Form, facts: ItemFacts, rulebook: Rulebook) -> list[Entry]:
    """The entries typed in the form; what cannot be used is noted in the form as a mistake.

    An entry for a check that an earlier one has locked is refused, beside its field.
    """
    typed = list_typed_entries(form, facts, rulebook)
    entries = [entry for _, entry in typed]
    why = {id(entry): sentence for entry, sentence in list_locked_entries(facts, entries, rulebook)}
    for field, entry in typed:
        if sentence := why.get(id(entry)):
            form.blame(field.name, f"{sentence} Clear this entry, or put right the one before it.")
    return entries


def list_typed_entries(
    form: Form, facts: ItemFacts, rulebook: Rulebook, *, typing: bool = False
) -> list[tuple[SheetField, Entry]]:
    """Every entry that can be judged, with its field, in the order of the sheet.

    While somebody is still typing, a defect counts before its point is marked and described.
    """
    entries: list[tuple[SheetField, Entry]] = []
    for step in list_sheet_steps(facts, rulebook):
        for field in step.fields:
            found = _visual_entries(form, facts, typing) if field.kind == "visual" else _entry(form, field)
            for entry in found:
                try:
                    judge_entry(entry, facts, rulebook)
                except ValueError as problem:
                    form.blame(field.name, str(problem))
                else:
                    entries.append((field, entry))
    return entries


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
        points = [f"Outlet {number}" for number in range(1, facts.outlets + 1)]
    fields = tuple(
        SheetField(f"{check.value}-{place}" if point else check.value, check, "reading", point or step.label, unit,
                   *words, point)
        for place, point in enumerate(points, 1)
    )  # fmt: skip
    return SheetPart(check, step.label, fields)


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
            fields.append(
                SheetField(name, step.check, "reading", label, Unit.MILLISECOND, *words, "", multiple, phase)
            )
    return SheetPart(step.check, step.label, tuple(fields))


def _limit_words(limit: Limit | None, otherwise: str) -> tuple[str, str, str]:
    """The limit, how it came about and from where, and the fact that is missing for it."""
    if limit is None:
        return otherwise, "", ""
    working = f"= {limit.working}" if limit.is_sum else limit.working
    if not limit.is_sum and limit.source not in working:
        working += f"; {limit.source}"
    return f"{limit.text[:1].upper()}{limit.text[1:]}", working, limit.wants


def _key(field: SheetField) -> tuple[Check, str, Decimal | None, int | None]:
    return field.check, field.point, field.multiple, field.phase_deg


def _entry(form: Form, field: SheetField) -> list[Entry]:
    typed = form.value(field.name).strip()
    if not typed:
        return []
    if field.kind == "reading" and field.unit is not None:
        try:
            reading = parse_reading(typed, field.unit)
        except ValueError as problem:
            form.blame(field.name, str(problem))
            return []
        return [Entry(field.check, reading, point=field.point, multiple=field.multiple, phase_deg=field.phase_deg)]
    if typed not in (GOOD, BAD):
        form.blame(field.name, "Choose one of the two.")
        return []
    if field.kind == "trip":
        trip = Trip.NO_TRIP if typed == GOOD else Trip.TRIPPED
        return [Entry(field.check, trip=trip, multiple=field.multiple, phase_deg=field.phase_deg)]
    note = form.lines(f"note-{field.check.value}") if typed == BAD else ""
    return [Entry(field.check, outcome=Outcome.PASS if typed == GOOD else Outcome.FAIL, note=note)]


def _visual_entries(form: Form, facts: ItemFacts, typing: bool) -> list[Entry]:
    said = form.value("visual")
    if not said:
        return []
    if said == GOOD:
        return [Entry(Check.VISUAL, outcome=Outcome.PASS)]
    if said != BAD:
        form.blame("visual", "Choose one of the two.")
        return []
    if typing:
        return [Entry(Check.VISUAL, outcome=Outcome.FAIL)]
    entries = []
    for point in list_points(facts):
        note = form.lines(f"note-{point.code}")
        if form.tick(f"defect-{point.code}") or note:
            if not note:
                form.blame(f"note-{point.code}", "Say in a few words what is wrong, and where.")
            entries.append(Entry(Check.VISUAL, outcome=Outcome.FAIL, point=point.text, note=note))
    if not entries:
        form.blame("visual", "Mark the point that is wrong, and say what is wrong with it.")
    return entries
