"""Payments: what came from a customer and what went back, how it is shared among invoices, and what is left of it.

All in whole pence. Money that no invoice takes is held as the customer's credit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Method(StrEnum):
    """How money moved."""

    BANK_TRANSFER = "bank-transfer"
    CARD = "card"
    CASH = "cash"
    CHEQUE = "cheque"
    DIRECT_DEBIT = "direct-debit"
    OTHER = "other"

    @property
    def word(self) -> str:
        return self.value.replace("-", " ")


class Direction(StrEnum):
    """Whether money came from the customer or went back."""

    RECEIVED = "received"
    REFUNDED = "refunded"


@dataclass(frozen=True)
class PaymentDetails:
    """Money as somebody records it. pence is above 0 whichever way it went."""

    paid_on: date
    pence: int
    method: Method = Method.BANK_TRANSFER
    reference: str = ""


@dataclass(frozen=True)
class OpenInvoice:
    """An invoice with something to pay on it, as matching sees it."""

    id: int
    number: str
    customer_id: int
    customer: str
    owed_pence: int
    due_on: date
    reference: str = ""


def check_payment(details: PaymentDetails, today: date) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {}
    if details.pence <= 0:
        mistakes["amount"] = "Give the amount, above £0."
    if details.paid_on > today:
        mistakes["paid_on"] = "This day has not come yet."
    return mistakes


def check_shares(shares: Sequence[tuple[OpenInvoice, int]], pence: int) -> dict[str, str]:
    """What is wrong with how so much money is to be shared, by field name: share_<invoice id>, or shares for all."""
    mistakes = {}
    for invoice, share in shares:
        if not 0 < share <= invoice.owed_pence:
            mistakes[f"share_{invoice.id}"] = f"{_pounds(invoice.owed_pence)} is to be paid on {invoice.number}."
    together = sum(share for _, share in shares)
    if shares and together > pence and not mistakes:
        over = f"The invoices take {_pounds(together)}, but there is only {_pounds(pence)} to share."
        mistakes[f"share_{shares[-1][0].id}"] = over
    return mistakes


def suggest_shares(invoices: Sequence[OpenInvoice], pence: int) -> tuple[tuple[OpenInvoice, int], ...]:
    """Share money among invoices, the one due first before the others."""
    shares = []
    for invoice in sorted(invoices, key=lambda each: (each.due_on, each.number)):
        share = min(pence, invoice.owed_pence)
        if share > 0:
            shares.append((invoice, share))
            pence -= share
    return tuple(shares)


def next_shares_after(shares: Sequence[int], most: int) -> tuple[int, ...]:
    """Give what stays of shares, in their order, when an invoice takes at most so much; the latest give way first."""
    kept = []
    for share in shares:
        kept.append(min(share, max(most, 0)))
        most -= kept[-1]
    return tuple(kept)


def _pounds(pence: int) -> str:
    return f"£{pence // 100:,}.{pence % 100:02d}"
