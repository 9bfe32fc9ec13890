"""What is kept about an item and an equipment type, the states of an item, and how item numbers go on."""

import re
from dataclasses import dataclass, field
from enum import StrEnum

from app.rules.equipment import ItemFacts


class ItemState(StrEnum):
    IN_USE = "in use"
    OUT_OF_USE = "out of use"
    WITHDRAWN = "withdrawn"


MONTHS_MOST = 120
NUMBER = re.compile(r"[A-Z0-9][A-Z0-9./-]{0,19}")


@dataclass(frozen=True)
class EquipmentTypeDetails:
    """An equipment type with its usual values. own_checks is the firm's own sequence, None for the rulebook's;
    interval_reason says why its usual interval is another than the suggested one.
    """

    name: str
    facts: ItemFacts = field(default_factory=ItemFacts)
    interval_months: int | None = None
    interval_reason: str = ""
    own_checks: list[str] | None = None


@dataclass(frozen=True)
class ItemDetails:
    """One item. number is unique at its customer; interval_months is None while the usual interval holds, own_checks
    while the rulebook's sequence does.
    """

    number: str
    description: str
    location_id: int
    equipment_type_id: int | None = None
    make: str = ""
    model: str = ""
    serial: str = ""
    facts: ItemFacts = field(default_factory=ItemFacts)
    interval_months: int | None = None
    interval_reason: str = ""
    notes: str = ""
    own_checks: list[str] | None = None
    batch: str = ""


def check_item(details: ItemDetails) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {}
    if not NUMBER.fullmatch(details.number):
        mistakes["number"] = "Use up to 20 letters, digits, dots, hyphens or slashes."
    if not details.description.strip():
        mistakes["description"] = "Say what it is."
    return mistakes | check_interval(details.interval_months, details.interval_reason)


def check_interval(months: int | None, reason: str) -> dict[str, str]:
    """What is wrong with an interval set by a person, by field name. A set interval needs its reason."""
    if months is None:
        return {}
    if not 1 <= months <= MONTHS_MOST:
        return {"interval_months": f"Give a number of months from 1 to {MONTHS_MOST}."}
    if not reason.strip():
        return {"interval_reason": "Say why this item has its own interval."}
    return {}


def next_number(numbers: list[str]) -> str:
    """The next free item number after those in use: the last digits of the highest one, counted on."""
    counted = [
        (int(match[2]), match[1], len(match[2])) for number in numbers if (match := re.fullmatch(r"(.*?)(\d+)", number))
    ]
    if not counted:
        return "0001"
    value, stem, width = max(counted)
    return f"{stem}{value + 1:0{width}d}"


def may_change_state(state: ItemState, to: ItemState, reason: str) -> str | None:
    """Say why an item cannot go from one state to another, or nothing when it can."""
    if state == ItemState.WITHDRAWN:
        return "This item is withdrawn. Add it as a new item if it comes back."
    if state == to:
        return f"This item is already {to.value}."
    if to == ItemState.IN_USE:
        return "An item that is out of use comes back when it passes at a visit, not by a click."
    if not reason.strip():
        return "Say why."
    return None
