"""Recording what was found for an item at a visit: its checks, or why it was not tested."""

from collections import Counter
from collections.abc import Sequence

from app.actions.deeds import Deed, check_version
from app.actions.tested_items import settle_test, take_back_test
from app.actions.visit_instruments import check_instrument_fit
from app.rules.advice import list_kept_advice
from app.rules.checks import Check
from app.rules.corrections import list_changes
from app.rules.judging import judge_visit_item, list_measured, list_shut_entries
from app.rules.quantities import Bound, Reading, Unit, convert_number, describe_number
from app.rules.readings import CheckVerdict, Entry, ItemVerdict
from app.rules.verdicts import Mistakes, Outcome, Refused, Verdict
from app.rules.visits import NotTested, VisitState
from app.rules.visual_points import describe_point
from app.store.equipment_types import facts_columns
from app.store.readings import ReadingRow, VisitItemRow, facts_for_judging_item, get_visit_item
from app.store.rounds import change_as_saved
from app.store.visits import get_visit

DIELECTRIC_OFF = "The dielectric strength test is done after a repair only, where the firm has turned it on."


def record_item(
    deed: Deed,
    visit_id: int,
    item_id: int,
    entries: Sequence[Entry],
    *,
    note: str = "",
    remedy: str = "",
    after_repair: bool = False,
    version: int | None = None,
) -> ItemVerdict:
    """Record everything entered for an item, judge it, and move its state and next due date along.

    Raises Mistakes, by check, for entries that a failed or undecided check before them has locked. Refuses more than
    the visual inspection while the visit's instrument is not fit for use and the owner has not allowed it.

    A repeated saving replaces the earlier one until the visit is finished; the journal keeps both sentences.
    """
    row = _open_row(deed, visit_id, item_id, version)
    known = Counter(_measured(each) for each in row.readings if row.visit.reopened_at is not None)
    if Counter(_entered(entry) for entry in entries if entry.check is not Check.VISUAL) - known:
        # Looking at an item needs no instrument; everything else does, each time that it is saved. A correction of a
        # visit that was over needs one for what was not on record then.
        check_instrument_fit(deed, row.visit)
    item = row.item
    was, was_verdict, retest = _said_of(row), row.verdict, bool(row.rounds) and row.tested_at is None
    passed_on = row.tested_on if was_verdict == Verdict.PASS else None
    judging = facts_for_judging_item(row, item.own_checks, after_repair)
    facts = item.facts
    entries = list_measured(entries, judging)
    if locked := list_shut_entries(facts, entries, judging):
        raise Mistakes({entry.check.value: sentence for entry, sentence in locked})
    if any(entry.check is Check.DIELECTRIC_STRENGTH for entry in entries) and not judging.chosen["dielectric"]:
        raise Mistakes({Check.DIELECTRIC_STRENGTH.value: DIELECTRIC_OFF})
    verdict = judge_visit_item(facts, entries, judging)
    for name, value in facts_columns(facts).items():
        setattr(row, name, value)
    row.description, row.location_id = item.description, item.location_id
    row.own_checks, row.after_repair = item.own_checks, after_repair
    row.verdict = verdict.verdict.value
    row.advice = list_kept_advice(verdict.advice)
    row.missing = [check.value for check in verdict.missing]
    row.rulebook_id, row.rulebook_version = verdict.rulebook_id, verdict.rulebook_version
    row.not_tested, row.not_tested_note, row.note = "", "", note.strip()
    _sign(deed, row, was_verdict)
    change_as_saved(row)
    # A reading saved again as it was keeps the instrument that it was measured with, and when that was.
    kept = {_measured(each): (each.instrument_id, each.recorded_at) for each in row.readings if each.instrument_id}
    row.readings = []
    deed.session.flush()
    parts = [part for judged in verdict.checks for part in (judged.parts or (judged,))]
    for position, part in enumerate(parts):
        reading = _reading_row(deed, row, position, part)
        measured = reading.instrument_id, reading.recorded_at
        reading.instrument_id, reading.recorded_at = kept.get(_measured(reading), measured)
        row.readings.append(reading)
    settle_test(deed, row, item, verdict, remedy, recorded=was_verdict is not None, passed_on=passed_on)
    repaired = " after a repair" if after_repair else " again, put right on the spot" if retest else ""
    changes = list_changes(was, _said_of(row)) if was_verdict is not None else ()
    if was_verdict is None:
        deed.note("item", item.id, f"Recorded item {item.number}{repaired}: {verdict.verdict.word}.")
    elif changes or was_verdict != verdict.verdict:
        said = "; ".join((*changes, f"verdict {Verdict(was_verdict).word}, now {verdict.verdict.word}"))
        deed.note("item", item.id, f"Corrected item {item.number}: {said}.")
    else:
        deed.note("item", item.id, f"Saved item {item.number} again; every reading is as it was.")
    deed.session.flush()
    return verdict


def _said_of(row: VisitItemRow) -> dict[str, str]:
    """What stands recorded for an item, by the name of each check, for the journal."""
    said = {}
    for reading in row.readings:
        name = Check(reading.check).word
        if reading.check == Check.VISUAL and reading.point:
            name = f"{name}, {describe_point(reading.point)}"
        elif reading.multiple is not None:
            name += f" at {describe_number(reading.multiple)} ×"
            name += f" {reading.phase_deg}°" if reading.phase_deg is not None else ""
        elif reading.point:
            name = f"{name}, {reading.point}"
        value = Outcome(reading.outcome).word
        if reading.value is not None:
            value = Reading(reading.value, Unit(reading.unit), Bound(reading.bound)).text
        said[name] = f"{value} ({reading.note})" if reading.note else value
    if row.note:
        said["note"] = f"“{row.note}”"
    return said


def _sign(deed: Deed, row: VisitItemRow, was_verdict: str | None) -> None:
    """Who tested, and when. A correction at a reopened visit leaves the day of the test and its technician."""
    reopened = row.visit.reopened_at
    if reopened is not None and row.tested_at is not None and row.tested_at < reopened and was_verdict is not None:
        return
    row.tested_at, row.tested_on, row.tested_by_id = deed.now, deed.today, deed.doer.id


def leave_item(
    deed: Deed, visit_id: int, item_id: int, reason: NotTested, note: str = "", version: int | None = None
) -> VisitItemRow:
    """Record why an item was not tested, or not to the end. What was measured stays on record without a verdict, and
    the register says again what the last test before said. Raises Mistakes when "other" has no note.
    """
    row = _open_row(deed, visit_id, item_id, version)
    if reason == NotTested.OTHER and not note.strip():
        raise Mistakes({"not_tested_note": "Say why the item was not tested."})
    if row.rounds and row.tested_at is None:
        raise Refused("This item failed and was put right on the spot. Test it again, or take back what was put right.")
    if row.verdict == Verdict.FAIL:
        raise Refused(
            "This item has failed. A failure is not taken back by leaving the item out; record a correction instead."
        )
    before = f" It was {Verdict(row.verdict).word} before." if row.verdict else ""
    if row.verdict:
        take_back_test(deed, row)
    row.not_tested, row.not_tested_note = reason.value, note.strip()
    row.verdict, row.missing, row.next_due_on = None, [], None
    row.tested_at, row.tested_on, row.tested_by_id = deed.now, deed.today, deed.doer.id
    said = f"Item {row.item.number} was not tested: {reason.value}.{before} {note.strip()}"
    deed.note("item", row.item_id, said.strip())
    deed.session.flush()
    return row


def _open_row(deed: Deed, visit_id: int, item_id: int, version: int | None) -> VisitItemRow:
    # Whoever finishes or cancels the visit waits for this saving, and a saving that comes after is refused.
    get_visit(deed.session, visit_id, kept=True)
    row = get_visit_item(deed.session, visit_id, item_id)
    if row.visit.state != VisitState.UNDER_WAY:
        raise Refused("Readings are recorded while the visit is under way; this one is " + row.visit.state + ".")
    check_version(row, version, "this item")
    return row


def _measured(row: ReadingRow) -> tuple[object, ...]:
    return row.check, row.point, row.multiple, row.phase_deg, row.value, row.unit, row.bound


def _entered(entry: Entry) -> tuple[object, ...]:
    """An entry as _measured tells a row."""
    reading = entry.reading
    shown = (reading.value, reading.unit.value, reading.bound.value) if reading is not None else (None, "", "")
    return entry.check.value, entry.point, entry.multiple, entry.phase_deg, *shown


def _reading_row(deed: Deed, row: VisitItemRow, position: int, judged: CheckVerdict) -> ReadingRow:
    entry, limit = judged.entry, judged.limit
    reading, lead = (entry.reading, entry.lead) if entry else (None, None)
    return ReadingRow(
        position=position,
        check=judged.check.value,
        point=entry.point if entry else "",
        multiple=entry.multiple if entry else None,
        phase_deg=entry.phase_deg if entry else None,
        given=entry.outcome.value if entry and entry.outcome else "",
        value=reading.value if reading else None,
        unit=reading.unit.value if reading else "",
        bound=reading.bound.value if reading else "",
        note=entry.note if entry else "",
        lead_ohms=convert_number(lead.value, lead.unit, Unit.OHM) if lead else None,
        conductor_c=entry.conductor_c if entry else None,
        steady=entry.steady if entry else True,
        outcome=judged.outcome.value,
        at_most=limit.at_most if limit else None,
        at_least=limit.at_least if limit else None,
        limit_unit=limit.unit.value if limit and limit.unit else "",
        limit_text=limit.text if limit else "",
        working=judged.working,
        source=judged.source,
        margin=judged.margin,
        uncertainty=judged.uncertainty,
        sentence=judged.sentence,
        instrument_id=row.visit.instrument_id if reading else None,
        recorded_at=deed.now,
    )
