"""What was typed on the visit sheet as entries for the rules, and what its fields show for what was recorded."""

from collections.abc import Iterable
from decimal import Decimal

from app.rules.checks import Check
from app.rules.equipment import ItemFacts
from app.rules.judging import Judging, list_measured
from app.rules.locked_entries import list_locked_entries
from app.rules.quantities import Bound, Unit, parse_reading
from app.rules.readings import Entry, Trip, judge_entry
from app.rules.rulebooks import Rulebook
from app.rules.verdicts import Outcome
from app.rules.visual_points import list_points_to_mark
from app.store.readings import ReadingRow
from app.web.fields import Form
from app.web.sheet_steps import SheetField, list_sheet_steps

#: What the two big buttons of a check without a number send.
GOOD, BAD = "satisfactory", "defect"


def show_entries(rows: Iterable[ReadingRow], facts: ItemFacts, rulebook: Rulebook) -> dict[str, str]:
    """What each field shows for what was recorded, by field name."""
    fields = {_key(field): field for step in list_sheet_steps(facts, rulebook) for field in step.fields}
    codes = {point.code for point in list_points_to_mark(facts)}
    shown: dict[str, str] = {}
    for row in rows:
        check = Check(row.check)
        if check is Check.VISUAL:
            shown["visual"] = GOOD if row.outcome == Outcome.PASS else BAD
            if row.point:
                code = row.point if row.point in codes else "other"
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


def new_entries(form: Form, facts: ItemFacts, judging: Judging) -> list[Entry]:
    """The entries typed in the form; what cannot be used is noted in the form as a mistake.

    An entry for a check that an earlier one has locked is refused, beside its field.
    """
    typed = list_typed_entries(form, facts, judging)
    entries = [entry for _, entry in typed]
    why = {
        id(entry): sentence
        for entry, sentence in list_locked_entries(facts, entries, judging.rulebook, judging.decision)
    }
    for field, entry in typed:
        if sentence := why.get(id(entry)):
            form.blame(field.name, f"{sentence} Clear this entry, or put right the one before it.")
    return entries


def list_typed_entries(
    form: Form, facts: ItemFacts, judging: Judging, *, typing: bool = False
) -> list[tuple[SheetField, Entry]]:
    """Every entry that can be judged, with its field, in the order of the sheet.

    While somebody is still typing, a defect counts before its point is marked and described.
    """
    entries: list[tuple[SheetField, Entry]] = []
    for step in list_sheet_steps(facts, judging.rulebook):
        for field in step.fields:
            found = _visual_entries(form, facts, typing) if field.kind == "visual" else _entry(form, field)
            for entry in list_measured(found, judging):
                try:
                    judge_entry(entry, facts, judging.rulebook)
                except ValueError as problem:
                    form.blame(field.name, str(problem))
                else:
                    entries.append((field, entry))
    return entries


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
    for point in list_points_to_mark(facts):
        note = form.lines(f"note-{point.code}")
        if form.tick(f"defect-{point.code}") or note:
            if not note:
                form.blame(f"note-{point.code}", "Say in a few words what is wrong, and where.")
            entries.append(Entry(Check.VISUAL, outcome=Outcome.FAIL, point=point.code, note=note))
    if not entries:
        form.blame("visual", "Mark the point that is wrong, and say what is wrong with it.")
    return entries
