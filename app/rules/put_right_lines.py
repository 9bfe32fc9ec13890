"""The lines that an invoice gets for what was put right on the spot, named as a price for them is named."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from app.rules.invoices import Basis, InvoiceLine
from app.rules.money import ZERO, Vat
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


def list_put_right_lines(done: Sequence[OnSpot], vat: Vat) -> tuple[InvoiceLine, ...]:
    """List a line for each kind of remedy. No price is known here, so they stand at nothing, to be filled in."""
    return tuple(
        InvoiceLine(name, Decimal(len(numbers)), ZERO, vat, "", basis=Basis.EXTRA, item_numbers=numbers)
        for name, numbers in list_used_names(done).items()
    )
