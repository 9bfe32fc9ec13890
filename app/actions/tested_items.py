"""What a test says of the item on the register: its state, its next due date and its defects; and what is taken back
when a test is corrected, or the item left out after all.
"""

from collections.abc import Sequence
from datetime import date, datetime

from app.actions.deeds import Deed, say_day
from app.actions.defects import keep_step
from app.actions.items import interval_months_of
from app.actions.tasks import settle_word_by_test
from app.rules.advice import Severity
from app.rules.fault_words import describe_fail
from app.rules.intervals import next_due
from app.rules.items import ItemState
from app.rules.readings import CheckVerdict, ItemVerdict
from app.rules.verdicts import FAILED, Verdict
from app.store.defects import remove_defects_not_found_again
from app.store.items import (
    DefectRow,
    ItemRow,
    change_defects_to_closed,
    change_defects_to_open,
    list_open_defects,
)
from app.store.readings import VisitItemRow
from app.store.rounds import find_earlier_test, find_later_test

REMEDY_USUAL = "Keep it out of use. Have it repaired and tested again, replace it, or withdraw it."


def settle_test(
    deed: Deed,
    row: VisitItemRow,
    item: ItemRow,
    verdict: ItemVerdict,
    remedy: str,
    *,
    recorded: bool,
    passed_on: date | None,
) -> None:
    """Move an item along by what was just recorded for it: its state, its next due date, and its defects.

    recorded: this saving corrects an earlier one of the visit; passed_on: the day of that one where it was a pass.
    """
    tested_on = row.tested_on or deed.today
    # A correction at the same visit takes back what the earlier saving found and closed. What is found again stays the
    # same defect, with whoever must act on it.
    found = _defects(verdict) if verdict.verdict == Verdict.FAIL else ()
    again = remove_defects_not_found_again(deed.session, row.id, found) if recorded else ()
    row.next_due_on = None
    if find_later_test(deed.session, item.id, row.id, tested_on) is not None:
        _settle_past(deed, row, item, verdict, remedy, tested_on, again)
        return
    # The earlier saving may have been on an earlier day of the same visit.
    for day in {tested_on, passed_on or tested_on}:
        change_defects_to_open(deed.session, item.id, day)
    item.last_tested_on, item.last_verdict = tested_on, verdict.verdict.value
    # No test brings back an item that is withdrawn, or out of use by a recall that nothing was done about yet.
    there = item.state != ItemState.WITHDRAWN and not _is_out_by_recall(deed, item)
    if verdict.verdict == Verdict.FAIL:
        item.next_due_on = None
        if there:
            item.state, item.state_reason = ItemState.OUT_OF_USE.value, _failed_at(tested_on)
        _settle_word(deed, item, row.tested_at or deed.now)
        _add_defects(deed, row, verdict, remedy, again)
    elif verdict.verdict == Verdict.PASS:
        row.next_due_on = next_due(tested_on, interval_months_of(item))
        if there:
            item.state, item.state_reason = ItemState.IN_USE.value, ""
            item.next_due_on = row.next_due_on
        change_defects_to_closed(deed.session, item.id, tested_on)
        settle_word_by_test(deed, item.id, row.tested_at or deed.now, passed=True)
    elif passed_on is not None:
        _stand_as_before(deed, row, item, *_tested_before(deed, row))
    deed.session.flush()
    deed.session.expire(row, ["defects"])


def take_back_test(deed: Deed, row: VisitItemRow) -> None:
    """Take back what was recorded for an item that is left out after all, where no later test says what it is."""
    item, tested_on = row.item, row.tested_on or deed.today
    if find_later_test(deed.session, item.id, row.id, tested_on) is not None:
        return
    before_on, before = _tested_before(deed, row)
    if row.verdict == Verdict.PASS:
        change_defects_to_open(deed.session, item.id, tested_on)
        _stand_as_before(deed, row, item, before_on, before)
    item.last_tested_on, item.last_verdict = before_on, before


def _stand_as_before(deed: Deed, row: VisitItemRow, item: ItemRow, tested_on: date | None, verdict: str | None) -> None:
    """Give an item back the state and the due day that a pass at this visit took from it. tested_on and verdict are
    those of the test before.

    Its defects say whether it is out of use; that somebody took it out of use by hand, without a test, is not known any
    more.
    """
    if item.state == ItemState.WITHDRAWN:
        return
    failed = verdict == Verdict.FAIL
    if failed or any(not defect.recalled for defect in list_open_defects(deed.session, item.id)):
        failed_on = tested_on if failed else row.tested_on
        item.state, item.state_reason = ItemState.OUT_OF_USE.value, _failed_at(failed_on or deed.today)
        item.next_due_on = None
    else:
        item.next_due_on = next_due(tested_on, interval_months_of(item)) if tested_on else None


def _tested_before(deed: Deed, row: VisitItemRow) -> tuple[date | None, str | None]:
    """Day and verdict of an item's last test before the one in the row: before it was put right, else at a visit."""
    if row.rounds:
        return row.rounds[-1].tested_on, row.rounds[-1].verdict
    before = find_earlier_test(deed.session, row.item_id, row.id)
    return (before.tested_on, before.verdict) if before is not None else (None, None)


def _is_out_by_recall(deed: Deed, item: ItemRow) -> bool:
    """Whether a recall that nothing was done about yet is why an item is out of use."""
    if item.state != ItemState.OUT_OF_USE:
        return False
    open_now = list_open_defects(deed.session, item.id)
    return any(defect.recalled and defect.found == item.state_reason for defect in open_now)


def _failed_at(day: date) -> str:
    return f"Failed at the visit of {say_day(day)}"


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
