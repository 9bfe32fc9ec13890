"""What was typed on the visit sheet as entries for the rules, and what its fields show for what was recorded."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from app.rules.checks import Check
from app.rules.equipment import ItemFacts
from app.rules.judging import Judging, list_measured, list_shut_entries
from app.rules.points import Way, describe_measured_point, parse_measured_point
from app.rules.quantities import Bound, Unit, parse_reading
from app.rules.readings import Entry, Trip, judge_entry
from app.rules.verdicts import Outcome
from app.rules.visual_points import list_points_to_mark
from app.store.readings import ReadingRow
from app.web.fields import Form
from app.web.sheet_steps import SheetField, list_sheet_steps

#: What the two big buttons of a check without a number send.
GOOD, BAD = "satisfactory", "defect"
PLACE_NAME_MOST = 60
REASON_MOST = 200
WHICH_OUTLET = "Mark each outlet that is crossed or broken."
#: The tick that a test was done by the only person who may.
DONE = "done-by-named"


def show_entries(rows: Sequence[ReadingRow], facts: ItemFacts, judging: Judging) -> dict[str, str]:
    """What each field shows for what was recorded, by field name."""
    codes = {point.code for point in list_points_to_mark(facts)}
    shown: dict[str, str] = {}
    for row, field in _placed(rows, facts, judging):
        check = Check(row.check)
        if check is Check.VISUAL:
            shown["visual"] = GOOD if row.outcome == Outcome.PASS else BAD
            if row.point:
                code = row.point if row.point in codes else "other"
                shown |= {f"defect-{code}": "yes", f"note-{code}": row.note}
            continue
        if field is None:
            continue
        if field.may_jump:
            shown |= _earth_values(row, field)
        if field.outlets and row.point:
            shown[row.point.replace(" ", "-")] = "yes"
        if field.by:
            shown[DONE] = "yes"
        if row.value is not None:
            shown[field.name] = f"{Bound(row.bound).sign}{row.value:f}"
        else:
            shown[field.name] = GOOD if row.outcome in (Outcome.PASS, Outcome.CONDITIONAL_PASS) else BAD
        if row.note:
            shown[f"note-{check.value}"] = row.note
    return shown


def show_last(rows: Sequence[ReadingRow], facts: ItemFacts, judging: Judging) -> dict[str, str]:
    """What was read the time before, with its unit and without its test lead, by field name."""
    last = {}
    for row, field in _placed(rows, facts, judging):
        if field is not None and row.net is not None:
            last[field.name] = f"{Bound(row.bound).sign}{row.net:f}\u00a0{Unit(row.unit).symbol}"
    return last


def _placed(
    rows: Sequence[ReadingRow], facts: ItemFacts, judging: Judging
) -> Iterator[tuple[ReadingRow, SheetField | None]]:
    """Each recorded reading with its field on the sheet. Named metal parts take the places in the order of saving."""
    fields = [field for step in list_sheet_steps(facts, judging) for field in step.fields]
    by_point = {_key(field): field for field in fields}
    by_place = {(field.place, field.way): field for field in fields if field.place}
    places: dict[str, int] = {}
    for row in rows:
        check, (place, way) = Check(row.check), parse_measured_point(row.point)
        if check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and by_place:
            number = places.setdefault(place, len(places) + 1)
            yield row, by_place.get((number, way)) or by_place.get((number, None if way else Way.FORWARD))
        else:
            # A crossed outlet has a point of its own, and the field of all of them.
            point = "" if check is Check.POLARITY else row.point
            yield row, by_point.get((check, point, row.multiple, row.phase_deg))


def _earth_values(row: ReadingRow, field: SheetField) -> dict[str, str]:
    values = {"lead": "" if row.lead_ohms is None else f"{row.lead_ohms:f}"}
    if not row.steady:
        values[f"jumped-{field.name}"] = "yes"
    if field.place:
        values[f"point-{field.place}"] = parse_measured_point(row.point)[0]
    return values


def new_entries(form: Form, facts: ItemFacts, judging: Judging) -> list[Entry]:
    """The entries typed in the form; what cannot be used is noted in the form as a mistake.

    An entry for a check that an earlier one has locked is refused, beside its field.
    """
    typed = list_typed_entries(form, facts, judging)
    entries = [entry for _, entry in typed]
    why = {id(entry): sentence for entry, sentence in list_shut_entries(facts, entries, judging)}
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
    for step in list_sheet_steps(facts, judging):
        for field in step.fields:
            found = _visual_entries(form, facts, typing) if field.kind == "visual" else _entry(form, field, typing)
            if field.by and found and not typing and not form.tick(DONE):
                form.blame(DONE, f"Tick that {field.by} did this test, or leave it out: nobody else may.")
            if field.may_jump:
                found = [_earth_entry(form, field, entry, judging, typing) for entry in found]
            for entry in list_measured(found, judging):
                try:
                    judge_entry(entry, facts, judging.rulebook)
                except ValueError as problem:
                    form.blame(field.name, str(problem))
                else:
                    entries.append((field, entry))
    measured = {entry.check for _, entry in entries}
    # Why a check stands in is no more to be said once what it stood in for was measured.
    return [
        (field, replace(entry, note="") if field.stands_for and measured.issuperset(field.stands_for) else entry)
        for field, entry in entries
    ]


def _key(field: SheetField) -> tuple[Check, str, Decimal | None, int | None]:
    return field.check, field.point, field.multiple, field.phase_deg


def _entry(form: Form, field: SheetField, typing: bool) -> list[Entry]:
    typed = form.value(field.name).strip()
    if not typed:
        return []
    if field.kind == "reading" and field.unit is not None:
        try:
            reading = parse_reading(typed, field.unit)
        except ValueError as problem:
            form.blame(field.name, str(problem))
            return []
        why = form.text(f"note-{field.check.value}", REASON_MOST) if field.stands_for else ""
        return [Entry(field.check, reading, None, None, field.point, field.multiple, field.phase_deg, why)]
    if typed not in (GOOD, BAD):
        form.blame(field.name, "Choose one of the two.")
        return []
    if field.kind == "trip":
        trip = Trip.NO_TRIP if typed == GOOD else Trip.TRIPPED
        return [Entry(field.check, trip=trip, multiple=field.multiple, phase_deg=field.phase_deg)]
    note = form.lines(f"note-{field.check.value}") if typed == BAD else ""
    if typed == BAD and field.outlets and not typing:
        points = [f"outlet {each}" for each in range(1, field.outlets + 1) if form.tick(f"outlet-{each}")]
        if not points:
            form.blame(field.name, WHICH_OUTLET)
        return [Entry(field.check, outcome=Outcome.FAIL, point=point, note=note) for point in points]
    return [Entry(field.check, outcome=Outcome.PASS if typed == GOOD else Outcome.FAIL, note=note)]


def _earth_entry(form: Form, field: SheetField, entry: Entry, judging: Judging, typing: bool) -> Entry:
    """The entry with its named place, its test lead, the temperature of the cord, and whether it held still."""
    point, lead, typed = field.point, None, form.value("lead").strip()
    if field.place:
        name = form.text(f"point-{field.place}", PLACE_NAME_MOST)
        others = {form.text(f"point-{number}") for number in range(1, field.place)}
        if name and name in others and not typing:
            form.blame(f"point-{field.place}", "Two metal parts have this name. Give each its own.")
        point = describe_measured_point(name or (f"metal part {field.place}" if field.place > 1 else ""), field.way)
    if typed:
        try:
            lead = parse_reading(typed, Unit.OHM)
        except ValueError as problem:
            form.blame("lead", str(problem))
    steady = not form.tick(f"jumped-{field.name}")
    return replace(entry, point=point, lead=lead, conductor_c=judging.conductor_c, steady=steady)


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
