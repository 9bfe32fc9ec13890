"""United Kingdom VAT rates by date: which rate holds is decided by the tax point, never by today.

Standard rate as published by HMRC: 17.5 % until 30 November 2008, 15 % until 31 December 2009, 17.5 % until
3 January 2011, 20 % since. Reduced rate 5 % since 1 September 1997 (start date from memory).
"""

from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from app.rules.money import OUTSIDE_SCOPE, Vat, VatCategory


class VatTreatment(StrEnum):
    """How a supply is treated; what a person chooses, where the category and rate follow."""

    STANDARD = "standard"
    REDUCED = "reduced"
    ZERO = "zero"
    EXEMPT = "exempt"
    OUTSIDE = "outside"
    REVERSE_CHARGE = "reverse-charge"

    @property
    def word(self) -> str:
        words = {"outside": "outside the scope", "reverse-charge": "reverse charge", "exempt": "exempt"}
        return words.get(self.value, f"{self.value} rate")


_STANDARD = (
    (date(1991, 4, 1), Decimal("17.5")),
    (date(2008, 12, 1), Decimal("15")),
    (date(2010, 1, 1), Decimal("17.5")),
    (date(2011, 1, 4), Decimal("20")),
)
_REDUCED = ((date(1997, 9, 1), Decimal("5")),)
_FIXED = {
    VatTreatment.ZERO: Vat(VatCategory.ZERO, Decimal(0)),
    VatTreatment.EXEMPT: Vat(VatCategory.EXEMPT, Decimal(0)),
    VatTreatment.OUTSIDE: OUTSIDE_SCOPE,
    VatTreatment.REVERSE_CHARGE: Vat(VatCategory.REVERSE_CHARGE, Decimal(0)),
}


def number_vat_rate(treatment: VatTreatment, tax_point: date) -> Vat:
    """Number in per cent and category of a treatment at a tax point; refuse dates before the table starts."""
    if treatment in _FIXED:
        return _FIXED[treatment]
    table = _STANDARD if treatment == VatTreatment.STANDARD else _REDUCED
    for start, rate in reversed(table):
        if start <= tax_point:
            return Vat(VatCategory.STANDARD, rate)
    raise ValueError(f"No {treatment.word} of VAT is known for {tax_point.isoformat()}.")


def next_tax_point(supplied_on: date, issued_on: date) -> date:
    """Give the tax point of a finished service: the day of the invoice when that is earlier or at most 14 days
    later, else the day it was finished (VAT Act 1994, section 6; advance payments apart; from memory)."""
    return issued_on if issued_on <= supplied_on + timedelta(days=14) else supplied_on
