"""Reference items of instruments, and the checks against them."""

from collections.abc import Mapping

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.rules.quantities import Reading
from app.rules.reference_checks import ReferenceDetails, check_reference_details, judge_reference_check
from app.rules.verdicts import Mistakes, Refused
from app.store.instruments import get_instrument
from app.store.reference_checks import (
    ReferenceCheckRow,
    ReferenceItemRow,
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
    deed.note("instrument", instrument.id, f"Added the reference item {row.name}, due every {row.every_days} days.")
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
    fill(row, details)
    deed.note("instrument", row.instrument_id, f"Changed the reference item {row.name}.")
    return row


def record_reference_checks(
    deed: Deed, instrument_id: int, shown: Mapping[int, Reading], note: str = ""
) -> list[ReferenceCheckRow]:
    """Record what an instrument shows for its reference items, by their ids, and judge it.

    Raises Mistakes, by "reading-" and the id, for what cannot be judged; then nothing is recorded.
    """
    instrument = get_instrument(deed.session, instrument_id)
    if not instrument.active:
        raise Refused(f"{instrument.name} is no longer used.")
    mistakes, rows = {}, []
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
                note=note.strip(),
                item=item,
            )
        )
    if mistakes:
        raise Mistakes(mistakes)
    if not rows:
        raise Mistakes({"": "Enter what the instrument shows for at least one reference item."})
    deed.session.add_all(rows)
    deed.session.flush()
    failed = ", ".join(row.item.name for row in rows if not row.passed)
    found = f"failed against {failed}" if failed else f"passed against {', '.join(row.item.name for row in rows)}"
    deed.note("instrument", instrument.id, f"Checked {instrument.name}: {found}.")
    return rows


def _check(deed: Deed, instrument_id: int, details: ReferenceDetails, row: ReferenceItemRow | None) -> None:
    mistakes = check_reference_details(details)
    for other in list_reference_items(deed.session, instrument_id):
        if other is not row and other.name.casefold() == details.name.casefold():
            mistakes["name"] = "This instrument has a reference item of that name already."
    if mistakes:
        raise Mistakes(mistakes)
