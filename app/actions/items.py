"""The register: adding, copying, moving, changing items, and taking them out of use or off the register."""

from dataclasses import replace

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.actions.recalls import match_item
from app.rules.equipment import Environment, ItemFacts
from app.rules.interval_decisions import describe_months, judge_longer
from app.rules.intervals import next_due, suggest_interval
from app.rules.items import ItemDetails, ItemState, check_item, may_change_state, next_number
from app.rules.verdicts import Mistakes, Refused, Verdict
from app.store.equipment_types import EquipmentTypeRow, get_equipment_type
from app.store.intervals import IntervalDecisionRow, add_interval_decision, change_due_before_paper
from app.store.items import ItemRow, find_item_by_number, get_item, list_item_numbers
from app.store.premises import PremisesRow, get_location


def add_item(deed: Deed, details: ItemDetails) -> ItemRow:
    """Add an item to the register; an empty number takes the next free one. Raises Mistakes."""
    location = get_location(deed.session, details.location_id)
    customer_id = location.premises.customer_id
    details = _tidied(deed, details, customer_id)
    mistakes = _mistakes(deed, details, customer_id, None)
    if details.interval_months is not None and "interval_months" not in mistakes:
        kind = get_equipment_type(deed.session, details.equipment_type_id) if details.equipment_type_id else None
        usual = _usual_months(kind, details.facts, location.premises)
        if judge_longer(usual, details.interval_months):
            mistakes["interval_months"] = (
                f"That is longer than usual for it ({describe_months(usual)}). Add it without, then decide on its own "
                "page, where what speaks against it is shown."
            )
    if mistakes:
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
    """Add another item like one that is there, with its own number; a longer interval than usual was decided for that
    one alone and is not copied. Raises Mistakes.
    """
    row = get_item(deed.session, item_id)
    details = replace(row.details, number=number, serial=serial)
    if has_longer_interval(row):
        details = replace(details, interval_months=None, interval_reason="")
    return add_item(deed, details)


def change_item(deed: Deed, item_id: int, details: ItemDetails, version: int | None = None) -> ItemRow:
    """Change an item, all but its interval, which is decided for itself. What was recorded at earlier visits stays
    as it was judged. Raises Mistakes.
    """
    row = get_item(deed.session, item_id)
    check_version(row, version, "this item")
    location = get_location(deed.session, details.location_id)
    if location.premises.customer_id != row.customer_id:
        raise Refused("An item cannot move to another customer. Withdraw it here and add it there.")
    details = _tidied(deed, details, row.customer_id)
    mistakes = _mistakes(deed, details, row.customer_id, row)
    if (details.interval_months, details.interval_reason) != (row.interval_months, row.interval_reason):
        mistakes["interval_months"] = ITS_OWN_PAGE
    if mistakes:
        raise Mistakes(mistakes)
    before, months = columns_of(row.details), interval_months_of(row)
    fill(row, details)
    row.premises_id = location.premises_id
    moved = _settle_due_day(deed, row, months)
    changed = [name.replace("_", " ") for name, value in columns_of(details).items() if before[name] != value]
    deed.note("item", row.id, f"Changed item {row.number}: {', '.join(changed) or 'nothing'}.{moved}")
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
    moved = _settle_due_day(deed, row, months)
    deed.note("item", row.id, f"Moved item {row.number} to {location.name}, {location.premises.name}.{moved}")
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
    return _usual_months(item.equipment_type, item.facts, item.premises)


def has_longer_interval(item: ItemRow) -> bool:
    """Whether an item has an interval of its own that is longer than the usual one."""
    return item.interval_months is not None and judge_longer(interval_months_of(item, own=False), item.interval_months)


def describe_type_reason(item: ItemRow) -> str:
    """Say which equipment type an item's usual interval comes from, and why; nothing where it is the suggested one."""
    kind = item.equipment_type
    if kind is None or kind.interval_months is None:
        return ""
    reason = f": {kind.interval_reason.rstrip('.')}" if kind.interval_reason else ""
    return f"usual for the equipment type {kind.name}{reason}"


def _usual_months(kind: EquipmentTypeRow | None, facts: ItemFacts, premises: PremisesRow) -> int | None:
    if kind is not None and kind.interval_months is not None:
        return kind.interval_months
    return suggest_interval(facts, Environment(premises.environment)).due_months


def _settle_due_day(deed: Deed, row: ItemRow, months: int | None) -> str:
    """Count the next due date anew from the last pass, where another interval holds now than before, and say so."""
    deed.session.flush()
    deed.session.expire(row, ["equipment_type", "location", "premises"])
    move_due_day(row, months)
    change_due_before_paper(deed.session, [row])
    now = interval_months_of(row)
    return (
        f" Another interval holds: {describe_months(now)}, before {describe_months(months)}." if now != months else ""
    )


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
ITS_OWN_PAGE = "How often it is tested is decided on the item's own page for it, where what speaks against it is shown."


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
