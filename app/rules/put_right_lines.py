"""What was put right on the spot, named as the price for it in an agreement is named, so that an invoice charges it."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.rules.remedies import Change


@dataclass(frozen=True)
class OnSpot:
    """One thing put right: what was changed, in which words, and on which item."""

    change: Change
    words: str
    item_number: str


def list_used_names(done: Sequence[OnSpot]) -> dict[str, tuple[str, ...]]:
    """List what was put right by the name that a price for it has, each with the numbers of its items."""
    names: dict[str, tuple[str, ...]] = {}
    for one in done:
        name = f"{one.change.word}: {one.words}" if one.change is Change.OTHER else one.change.word
        names[name] = (*names.get(name, ()), one.item_number)
    return names
