"""Reference items of instruments, and the checks against them."""

from collections.abc import Mapping

from app.actions.deeds import Deed, check_version, columns_of, fill, say_day
from app.actions.instruments import strike_out_record
from app.rules.quantities import Reading
from app.rules.reference_checks import (
    ReferenceDetails,
    check_reference_details,
    describe_reference_band,
    judge_reference_check,
)
from app.rules.verdicts import Mistakes, Refused
from app.store.instruments import get_instrument
from app.store.reference_checks import (
    ReferenceCheckRow,
    ReferenceItemRow,
    facts_of_standing,
    get_reference_check,
    get_reference_item,
    list_reference_checks,
    list_reference_items,
)


def add_reference_item(deed: Deed, instrument_id: int, details: ReferenceDetails) -> ReferenceItemRow:
    """Add something that an instrument is checked against. Raises Mistakes."""
    instrument = get_instrument(deed.session, instrument_id)
    _check(deed, instrument_id, details, None)
    row = ReferenceItemRow(instrument_id=instrument.id, **columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("instrument", instrument.id, f"Added the reference item {_said(details)}.")
    return row


def change_reference_item(
    deed: Deed, instrument_id: int, reference_id: int, details: ReferenceDetails, version: int | None = None
) -> ReferenceItemRow:
    """Change a reference item. Checks on record keep the band by which they were judged. Raises Mistakes.

    Refuses another function or unit once there are checks: their history would no longer be of one thing.
    """
    row = get_reference_item(deed.session, instrument_id, reference_id)
    check_version(row, version, "this reference item")
    _check(deed, instrument_id, details, row)
    other_thing = (row.check, row.unit) != (details.check.value, details.unit.value)
    if other_thing and list_reference_checks(deed.session, row.id):
        raise Refused("This item has checks on record. Add another one for another function or unit.")
    before = _said(row.details)
    fill(row, details)
    now = _said(details)
    told = f"{now}; before that {before}" if now != before else f"{now}, as before"
    deed.note("instrument", row.instrument_id, f"Changed the reference item {told}.")
    return row


def record_reference_checks(
    deed: Deed, instrument_id: int, shown: Mapping[int, Reading], note: str = ""
) -> list[ReferenceCheckRow]:
    """Record what an instrument shows for its reference items, by their ids, and judge it.

    Raises Mistakes, by "reading-" and the id, for what cannot be judged; then nothing is recorded. A check that passes
    after one against the same item had failed needs the cause in the note: it lets the instrument be used again.
    """
    instrument = get_instrument(deed.session, instrument_id)
    if not instrument.active:
        raise Refused(f"{instrument.name} is no longer used.")
    mistakes, rows, note = {}, [], " ".join(note.split())
    failed_before = {name for name, _ in facts_of_standing(deed.session, instrument).failed_checks}
    for reference_id, reading in shown.items():
        item = get_reference_item(deed.session, instrument_id, reference_id)
        if not item.active:
            raise Refused(f"{item.name} is no longer checked against.")
        try:
            verdict = judge_reference_check(item.details, reading)
        except ValueError as problem:
            mistakes[f"reading-{reference_id}"] = str(problem)
            continue
        rows.append(
            ReferenceCheckRow(
                reference_item_id=item.id,
                checked_on=deed.today,
                checked_at=deed.now,
                person_id=deed.doer.id,
                person_name=deed.doer.name,
                value=verdict.reading.value,
                unit=verdict.reading.unit.value,
                bound=verdict.reading.bound.value,
                nominal=item.nominal,
                low=verdict.low,
                high=verdict.high,
                margin=verdict.margin,
                passed=verdict.passed,
                working=verdict.working,
                sentence=verdict.sentence,
                note=note,
                after_failure=verdict.passed and item.name in failed_before,
                item=item,
            )
        )
    cured = ", ".join(row.item.name for row in rows if row.after_failure)
    if cured and not note:
        mistakes["note"] = (
            f"The last check against {cured} failed. Say what the cause was and what was done: leads, battery, "
            "contacts …"
        )
    if mistakes:
        raise Mistakes(mistakes)
    if not rows:
        raise Mistakes({"": "Enter what the instrument shows for at least one reference item."})
    deed.session.add_all(rows)
    deed.session.flush()
    failed = ", ".join(row.item.name for row in rows if not row.passed)
    found = f"failed against {failed}" if failed else f"passed against {', '.join(row.item.name for row in rows)}"
    told = f" After a failure against {cured}: {note}" if cured else ""
    deed.note("instrument", instrument.id, f"Checked {instrument.name}: {found}.{told}")
    return rows


def strike_out_check(deed: Deed, instrument_id: int, check_id: int, reason: str) -> ReferenceCheckRow:
    """Strike out a check that was entered wrongly: it stays to be seen and counts for nothing. The owner's deed alone.

    Raises Mistakes without a reason.
    """
    row = get_reference_check(deed.session, instrument_id, check_id)
    strike_out_record(deed, row, "check", reason)
    found = f"{row.reading.text} against {row.item.name} of {say_day(row.checked_on)}"
    deed.note("instrument", instrument_id, f"Struck out the check {found}: {row.struck_reason}")
    return row


def _said(details: ReferenceDetails) -> str:
    """A reference item as the journal keeps it: its band and its days decide whether the instrument may be used."""
    told = f"{details.name}, {describe_reference_band(details)}, due every {details.every_days} days"
    return told if details.active else f"{told}, no longer checked against"


def _check(deed: Deed, instrument_id: int, details: ReferenceDetails, row: ReferenceItemRow | None) -> None:
    mistakes = check_reference_details(details)
    for other in list_reference_items(deed.session, instrument_id):
        if other is not row and other.name.casefold() == details.name.casefold():
            mistakes["name"] = "This instrument has a reference item of that name already."
    if mistakes:
        raise Mistakes(mistakes)
