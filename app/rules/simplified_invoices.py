"""When the law would allow a simplified invoice, and what it must show: regulation 16A of the VAT Regulations 1995.

Our papers are always full invoices; this answers the question for whoever asks it.
"""

from decimal import Decimal

SIMPLIFIED_MOST = Decimal("250.00")  # with VAT

_FIELDS = (
    "supplier name, address, VAT number",
    "time of supply",
    "description",
    "total payable including VAT",
    "for each VAT rate: gross amount and the rate",
)


def may_simplify_invoice(gross: Decimal, exempt: bool = False) -> bool:
    """Whether an invoice of so much, VAT included, may be a simplified one; none may that has exempt supplies."""
    return gross <= SIMPLIFIED_MOST and not exempt


def list_simplified_fields() -> tuple[str, ...]:
    """List what a simplified invoice must show."""
    return _FIELDS
