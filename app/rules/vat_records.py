"""What the accountant gets: one record for each paper and VAT rate, and the sums of a period by rate and kind.

These are sales records for digital links (VAT Notice 700/22: time of supply, value without VAT, rate), not a return.
Credit notes count with a minus, in the period of their own date (regulation 38 of SI 1995/2518, from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from app.rules.money import ZERO, VatCategory


class Paper(StrEnum):
    INVOICE = "invoice"
    CREDIT_NOTE = "credit note"


@dataclass(frozen=True)
class VatRecord:
    """One paper at one VAT rate, in pounds; less than nothing on a credit note. counts_on: the day by which it falls
    in a period, the tax point of an invoice or the date of a credit note. rate is None without VAT."""

    paper: Paper
    number: str
    issued_on: date
    tax_point: date
    customer: str
    customer_id: int
    category: VatCategory
    rate: Decimal | None
    net: Decimal
    vat: Decimal
    corrects: str = ""
    href: str = ""

    @property
    def gross(self) -> Decimal:
        return self.net + self.vat

    @property
    def counts_on(self) -> date:
        return self.tax_point if self.paper == Paper.INVOICE else self.issued_on


@dataclass(frozen=True)
class VatSum:
    """All of one category and rate in a period."""

    category: VatCategory
    rate: Decimal | None
    papers: int
    net: Decimal
    vat: Decimal


def total_vat_records(records: Iterable[VatRecord]) -> tuple[VatSum, ...]:
    """Add records up by category and rate, the highest rate first."""
    groups: dict[tuple[VatCategory, Decimal | None], list[VatRecord]] = {}
    for record in records:
        groups.setdefault((record.category, record.rate), []).append(record)
    sums = [
        VatSum(
            category,
            rate,
            len({record.number for record in each}),
            sum((record.net for record in each), ZERO),
            sum((record.vat for record in each), ZERO),
        )
        for (category, rate), each in groups.items()
    ]
    return tuple(sorted(sums, key=lambda each: (-(each.rate or 0), each.category.value)))
