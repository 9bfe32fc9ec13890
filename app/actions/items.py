"""The register: adding, copying, moving, changing items, and taking them out of use or off the register."""

from dataclasses import replace

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.actions.recalls import match_item
from app.rules.equipment import Environment
from app.rules.intervals import next_due, suggest_interval
from app.rules.items import ItemDetails, ItemState, check_item, may_change_state, next_number
from app.rules.verdicts import Mistakes, Refused, Verdict
from app.store.intervals import IntervalDecisionRow, add_interval_decision, change_due_before_paper
from app.store.items import ItemRow, find_item_by_number, get_item, list_item_numbers
from app.store.premises import get_location


def add_item(deed: Deed, details: ItemDetails) -> ItemRow:
    """Add an item to the register; an empty number takes the next free one. Raises Mistakes."""
    location = get_location(deed.session, details.location_id)
    customer_id = location.premises.customer_id
    details = _tidied(deed, details, customer_id)
    if mistakes := _mistakes(deed, details, customer_id, None):
        raise Mistakes(mistakes)
    row = ItemRow(**columns_of(details), customer_id=customer_id, premises_id=location.premises_id, added_on=deed.today)
    deed.session.add(row)
    deed.session.flush()
    if row.interval_months is not None:
        keep_interval_decision(deed, row, None)
    deed.note("item", row.id, f"Added item {row.number}, {row.description}, at {location.name}.")
    match_item(deed, row)
    return row


def copy_item(deed: Deed, item_id: int, number: str = "", serial: str = "") -> ItemRow:
    """Add another item like one that is there, with its own number. Raises Mistakes."""
    row = get_item(deed.session, item_id)
    return add_item(deed, replace(row.details, number=number, serial=serial))


def change_item(deed: Deed, item_id: int, details: ItemDetails, version: int | None = None) -> ItemRow:
    """Change an item. What was recorded at earlier visits stays as it was judged. Raises Mistakes."""
    row = get_item(deed.session, item_id)
    check_version(row, version, "this item")
    location = get_location(deed.session, details.location_id)
    if location.premises.customer_id != row.customer_id:
        raise Refused("An item cannot move to another customer. Withdraw it here and add it there.")
    details = _tidied(deed, details, row.customer_id)
    if mistakes := _mistakes(deed, details, row.customer_id, row):
        raise Mistakes(mistakes)
    before, months = columns_of(row.details), interval_months_of(row)
    fill(row, details)
    row.premises_id = location.premises_id
    if before["interval_months"] != row.interval_months or before["interval_reason"] != row.interval_reason:
        keep_interval_decision(deed, row, months)
    _settle_due_day(deed, row, months)
    changed = [name.replace("_", " ") for name, value in columns_of(details).items() if before[name] != value]
    deed.note("item", row.id, f"Changed item {row.number}: {', '.join(changed) or 'nothing'}.")
    if set(changed) & {"make", "model", "batch", "serial", "description"}:
        match_item(deed, row)
    return row


def move_item(deed: Deed, item_id: int, location_id: int) -> ItemRow:
    """Move an item to another location of its customer."""
    row = get_item(deed.session, item_id)
    location = get_location(deed.session, location_id)
    if location.premises.customer_id != row.customer_id:
        raise Refused("An item cannot move to another customer. Withdraw it here and add it there.")
    months = interval_months_of(row)
    row.location_id, row.premises_id = location.id, location.premises_id
    _settle_due_day(deed, row, months)
    deed.note("item", row.id, f"Moved item {row.number} to {location.name}, {location.premises.name}.")
    return row


def take_out_of_use(deed: Deed, item_id: int, reason: str) -> ItemRow:
    """Take an item out of use until it passes again."""
    return _change_state(deed, item_id, ItemState.OUT_OF_USE, reason)


def withdraw_item(deed: Deed, item_id: int, reason: str) -> ItemRow:
    """Take an item off the register for good. Its records stay."""
    row = _change_state(deed, item_id, ItemState.WITHDRAWN, reason)
    row.next_due_on, row.withdrawn_on = None, deed.today
    return row


def _change_state(deed: Deed, item_id: int, state: ItemState, reason: str) -> ItemRow:
    row = get_item(deed.session, item_id)
    if not reason.strip():
        raise Mistakes({"reason": "Say why; the register keeps it."})
    if sentence := may_change_state(ItemState(row.state), state, reason):
        raise Refused(sentence)
    row.state, row.state_reason = state.value, reason.strip()
    deed.note("item", row.id, f"Item {row.number} is now {state.value}: {reason.strip()}")
    return row


def interval_months_of(item: ItemRow, own: bool = True) -> int | None:
    """The interval that holds for an item: its own, else its equipment type's, else the suggested one. own False asks
    what would hold without its own.
    """
    if own and item.interval_months is not None:
        return item.interval_months
    if item.equipment_type is not None and item.equipment_type.interval_months is not None:
        return item.equipment_type.interval_months
    return suggest_interval(item.facts, Environment(item.premises.environment)).due_months


def _settle_due_day(deed: Deed, row: ItemRow, months: int | None) -> None:
    """Count the next due date anew from the last pass, where another interval holds now than the one given."""
    deed.session.flush()
    deed.session.expire(row, ["equipment_type", "location", "premises"])
    move_due_day(row, months)
    change_due_before_paper(deed.session, [row])


def move_due_day(row: ItemRow, months: int | None) -> None:
    """Count the next due date anew from the last pass, where another interval holds now than the one given."""
    now = interval_months_of(row)
    if now != months and row.state == ItemState.IN_USE and row.last_tested_on and row.last_verdict == Verdict.PASS:
        row.next_due_on = next_due(row.last_tested_on, now)


def keep_interval_decision(
    deed: Deed,
    row: ItemRow,
    months_before: int | None,
    *,
    answers: dict[str, str] | None = None,
    evidence: str = "",
    reason: str = "",
    together: int = 1,
) -> None:
    """Keep what was decided about an item's interval; reason is the item's own where none is given."""
    decided = IntervalDecisionRow(
        item_id=row.id,
        decided_on=deed.today,
        decided_at=deed.now,
        person_id=deed.person.id if deed.person else None,
        person_name=deed.person.name if deed.person else "Ohmstead",
        months=row.interval_months,
        months_before=months_before,
        reason=reason or row.interval_reason or WITHOUT_REASON,
        answers=answers,
        evidence=evidence,
        together=together,
    )
    add_interval_decision(deed.session, decided)


WITHOUT_REASON = "The usual interval holds again."


def _tidied(deed: Deed, details: ItemDetails, customer_id: int) -> ItemDetails:
    number = details.number.strip().upper() or next_number(list_item_numbers(deed.session, customer_id))
    return replace(details, number=number, description=details.description.strip())


def _mistakes(deed: Deed, details: ItemDetails, customer_id: int, row: ItemRow | None) -> dict[str, str]:
    mistakes = check_item(details)
    other = find_item_by_number(deed.session, customer_id, details.number)
    if other is not None and other is not row:
        mistakes["number"] = (
            f"Item {other.number} is there already: {other.description}, {other.location.name}, {other.premises.name}."
        )
    return mistakes
