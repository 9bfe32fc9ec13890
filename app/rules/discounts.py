"""Discounts: so much per cent or so many pounds off a line or off the whole, written as a person types them.

On a paper a discount is an allowance of EN 16931: of a line (BG-27), or of the document (BG-20), where each VAT
category and rate bears its own share.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from app.rules.money import ZERO, Adjustment, Line, Vat, total_half_up, total_line, total_shares

USUAL_REASON = "Discount"


@dataclass(frozen=True)
class Discount:
    """Off the price: percent (above 0, at most 100) or amount in pounds (above 0); one of the two is given."""

    percent: Decimal | None = None
    amount: Decimal | None = None
    reason: str = ""

    def __post_init__(self) -> None:
        if (self.percent is None) == (self.amount is None):
            raise ValueError("A discount is either a percentage or an amount.")
        if self.percent is not None and not 0 < self.percent <= 100:
            raise ValueError("A discount is more than 0 and at most 100 per cent.")
        if self.amount is not None and not 0 < self.amount <= 1_000_000:
            raise ValueError("A discount is more than £0 and at most £1,000,000.")

    @property
    def text(self) -> str:
        """As it is kept and typed: 10%, 2.5% or 5.00."""
        return f"{self.percent.normalize():f}%" if self.percent is not None else f"{self.amount:.2f}"

    @property
    def word(self) -> str:
        """As it is printed: the reason, and the percentage where there is one."""
        reason = self.reason.strip() or USUAL_REASON
        return f"{reason}, {self.percent.normalize():f}%" if self.percent is not None else reason


def parse_discount(text: str, reason: str = "") -> Discount | None:
    """Read a discount as typed: "10%", "2,5 %", "£5" or "5.00"; nothing for empty text or 0. Raises ValueError."""
    tight = re.sub(r"\s", "", text)
    if not tight:
        return None
    found = re.fullmatch(r"£?([0-9]{1,7}(?:[.,][0-9]{1,2})?)(%?)", tight)
    if not found or (tight.startswith("£") and found[2]):
        raise ValueError("Give a discount such as 10% or 5.00.")
    value = Decimal(found[1].replace(",", "."))
    if value == 0:
        return None
    return Discount(percent=value, reason=reason) if found[2] else Discount(amount=value, reason=reason)


def total_discount(discount: Discount, net: Decimal) -> Decimal:
    """Work out what a discount takes off a net amount, in pounds, rounded half up."""
    if discount.percent is not None:
        return total_half_up(Fraction(net) * Fraction(discount.percent) / 100)
    return total_half_up(discount.amount or ZERO)


def list_line_allowances(discount: Discount | None, quantity: Decimal, price: Decimal) -> tuple[Adjustment, ...]:
    """List the allowance of a line (BG-27) for its discount; none without one."""
    if discount is None:
        return ()
    base = total_half_up(Fraction(quantity) * Fraction(price))
    amount = total_discount(discount, base)
    return (Adjustment(False, amount, None, discount.word, discount.percent, base if discount.percent else None),)


def list_document_allowances(discount: Discount | None, lines: Sequence[Line]) -> tuple[Adjustment, ...]:
    """List the allowances of a document (BG-20): one for each VAT category and rate, each with its own share.

    An amount is shared by what the groups come to, odd pence to the largest remainders, so that nothing is lost.
    """
    if discount is None or not lines:
        return ()
    nets: dict[Vat, Decimal] = {}
    for line in lines:
        nets[line.vat] = nets.get(line.vat, ZERO) + total_line(line)
    if discount.percent is not None:
        shares = [total_discount(discount, net) for net in nets.values()]
    else:
        weights = [max(net, ZERO) for net in nets.values()]
        weights = weights if any(weights) else [Decimal(1), *[ZERO] * (len(weights) - 1)]
        shares = list(total_shares(total_half_up(discount.amount or ZERO), weights))
    return tuple(
        Adjustment(False, share, vat, discount.word, discount.percent, net if discount.percent else None)
        for (vat, net), share in zip(nets.items(), shares, strict=True)
        if share
    )
