"""Recording what was found for an item at a visit: its checks, or why it was not tested."""

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime

from app.actions.deeds import Deed, check_version, say_day
from app.actions.defects import keep_step
from app.actions.items import interval_months_of
from app.actions.tasks import settle_word_by_test
from app.actions.visit_instruments import check_instrument_fit
from app.rules.advice import Severity, list_kept_advice
from app.rules.checks import Check
from app.rules.corrections import list_changes
from app.rules.fault_words import describe_fail
from app.rules.intervals import next_due
from app.rules.items import ItemState
from app.rules.judging import judge_visit_item, list_measured, list_shut_entries
from app.rules.quantities import Bound, Reading, Unit, convert_number, describe_number
from app.rules.readings import CheckVerdict, Entry, ItemVerdict
from app.rules.verdicts import FAILED, Mistakes, Outcome, Refused, Verdict
from app.rules.visits import NotTested, VisitState
from app.rules.visual_points import describe_point
from app.store.defects import remove_defects_not_found_again
from app.store.equipment_types import facts_columns
from app.store.items import (
    DefectRow,
    ItemRow,
    change_defects_to_closed,
    change_defects_to_open,
    list_open_defects,
)
from app.store.readings import ReadingRow, VisitItemRow, facts_for_judging_item, get_visit_item
from app.store.rounds import change_as_saved, find_later_test


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
    _settle_item(deed, row, item, verdict, remedy, recorded=was_verdict is not None)
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
    """Record why an item was not tested, or not to the end. Raises Mistakes when "other" has no note."""
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
    row.not_tested, row.not_tested_note = reason.value, note.strip()
    row.tested_at, row.tested_on, row.tested_by_id = deed.now, deed.today, deed.doer.id
    said = f"Item {row.item.number} was not tested: {reason.value}.{before} {note.strip()}"
    deed.note("item", row.item_id, said.strip())
    deed.session.flush()
    return row


def _open_row(deed: Deed, visit_id: int, item_id: int, version: int | None) -> VisitItemRow:
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


def _settle_item(
    deed: Deed, row: VisitItemRow, item: ItemRow, verdict: ItemVerdict, remedy: str, *, recorded: bool
) -> None:
    tested_on = row.tested_on or deed.today
    # A correction at the same visit takes back what the earlier saving found and closed. What is found again stays the
    # same defect, with whoever must act on it.
    found = _defects(verdict) if verdict.verdict == Verdict.FAIL else ()
    again = remove_defects_not_found_again(deed.session, row.id, found) if recorded else ()
    row.next_due_on = None
    if find_later_test(deed.session, item.id, row.id, tested_on) is not None:
        _settle_past(deed, row, item, verdict, remedy, tested_on, again)
        return
    change_defects_to_open(deed.session, item.id, tested_on)
    item.last_tested_on, item.last_verdict = tested_on, verdict.verdict.value
    if verdict.verdict == Verdict.FAIL:
        item.state, item.state_reason = (
            ItemState.OUT_OF_USE.value,
            f"Failed at the visit of {say_day(tested_on)}",
        )
        item.next_due_on = None
        _settle_word(deed, item, row.tested_at or deed.now)
        _add_defects(deed, row, verdict, remedy, again)
    elif verdict.verdict == Verdict.PASS:
        item.state, item.state_reason = ItemState.IN_USE.value, ""
        row.next_due_on = item.next_due_on = next_due(tested_on, interval_months_of(item))
        change_defects_to_closed(deed.session, item.id, tested_on)
        settle_word_by_test(deed, item.id, row.tested_at or deed.now, passed=True)
    deed.session.flush()
    deed.session.expire(row, ["defects"])


def _settle_word(deed: Deed, item: ItemRow, tested_at: datetime) -> None:
    """A failed test shows that what was said to be put right is not; it waits for whoever must act again."""
    for defect in list_open_defects(deed.session, item.id):
        if defect.said_done_at is not None and defect.said_done_at <= tested_at:
            defect.said_done_at = None
            keep_step(deed, defect.id, deed.doer.name, "Tested again, and failed.")
    settle_word_by_test(deed, item.id, tested_at, passed=False)


def _settle_past(
    deed: Deed,
    row: VisitItemRow,
    item: ItemRow,
    verdict: ItemVerdict,
    remedy: str,
    tested_on: date,
    again: Sequence[DefectRow],
) -> None:
    """Settle a correction of a visit after which the item was tested again: the newer test says what it is now."""
    if verdict.verdict == Verdict.FAIL:
        closed_on = item.last_tested_on if item.last_verdict == "pass" else None
        _add_defects(deed, row, verdict, remedy, again, closed_on)
    elif verdict.verdict == Verdict.PASS:
        row.next_due_on = next_due(tested_on, interval_months_of(item))
    deed.session.flush()
    deed.session.expire(row, ["defects"])


def _add_defects(
    deed: Deed,
    row: VisitItemRow,
    verdict: ItemVerdict,
    remedy: str,
    again: Sequence[DefectRow],
    closed_on: date | None = None,
) -> None:
    kept = {defect.found: defect for defect in again}
    for found in _defects(verdict):
        if (defect := kept.pop(found, None)) is not None:
            defect.found_at, defect.closed_on = row.tested_at or deed.now, closed_on
            defect.remedy = remedy.strip() or REMEDY_USUAL
            continue
        deed.session.add(
            DefectRow(
                item_id=row.item_id,
                visit_item_id=row.id,
                found_at=row.tested_at or deed.now,
                found=found,
                remedy=remedy.strip() or REMEDY_USUAL,
                closed_on=closed_on,
            )
        )


DIELECTRIC_OFF = "The dielectric strength test is done after a repair only, where the firm has turned it on."
REMEDY_USUAL = "Keep it out of use. Have it repaired and tested again, replace it, or withdraw it."


def _defects(verdict: ItemVerdict) -> list[str]:
    parts = [part for judged in verdict.checks for part in (judged.parts or (judged,))]
    found = [_defect(part) for part in parts if part.outcome in FAILED]
    return found + [advice.text for advice in verdict.advice if advice.severity == Severity.FAIL]


def _defect(judged: CheckVerdict) -> str:
    entry = judged.entry
    if entry is not None and entry.reading is None:
        return describe_fail(
            judged.check, point=entry.point, multiple=entry.multiple, phase_deg=entry.phase_deg, note=entry.note
        )
    return f"{judged.check.word[0].upper()}{judged.check.word[1:]}: {judged.sentence}"
