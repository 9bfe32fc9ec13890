"""What an invoice says, as plain facts, and whether it may be issued.

The contents follow regulation 14 of the VAT Regulations 1995 (SI 1995/2518) and the firm's legal form. A firm
that is not registered for VAT charges none, and its papers do not mention it.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from app.rules.certificates import CustomerFacts, PremisesFacts
from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.money import OUTSIDE_SCOPE, ZERO, Adjustment, Totals, VatCategory, total_invoice
from app.rules.priced_lines import Basis, InvoiceLine, list_visit_lines
from app.rules.prices import PriceAgreement, VisitItem

__all__ = [
    "Basis",
    "InvoiceFacts",
    "InvoiceLine",
    "PriceAgreement",
    "VisitItem",
    "list_visit_lines",
    "may_issue_invoice",
    "next_payment_date",
    "number_invoice",
    "total_facts",
]


@dataclass(frozen=True)
class InvoiceFacts:
    """Everything an invoice says.

    supplied_on: day the work was finished. tax_point: date that decides the VAT rate; supplied_on when None.
    customer_reference: the customer's order number. work: a phrase, "Inspection and test on 4 March 2026".
    certificate_numbers: papers the invoice rests on. terms: more about paying than the due date says.
    payment_reference: what the customer quotes when paying; the invoice's number when empty.
    supplied_from: the first of several days of supply. type_code: 380 invoice, 381 credit note (UNTDID 1001).
    preceding: number and date of the invoices that this paper corrects (BG-3).
    """

    number: str
    firm: FirmFacts
    customer: CustomerFacts
    issued_on: date
    supplied_on: date
    due_on: date
    lines: tuple[InvoiceLine, ...]
    tax_point: date | None = None
    premises: PremisesFacts | None = None
    adjustments: tuple[Adjustment, ...] = ()
    paid: Decimal = ZERO
    rounding: Decimal = ZERO
    work: str = ""
    customer_reference: str = ""
    certificate_numbers: tuple[str, ...] = ()
    terms: str = ""
    payment_reference: str = ""
    note: str = ""
    supplied_from: date | None = None
    type_code: str = "380"
    preceding: tuple[tuple[str, date], ...] = ()
    quote_numbers: tuple[str, ...] = ()


def total_facts(facts: InvoiceFacts) -> Totals:
    """Work out the totals of an invoice from its lines and adjustments."""
    return total_invoice([line.priced for line in facts.lines], facts.adjustments, facts.paid, facts.rounding)


def next_payment_date(issued_on: date, days: int) -> date:
    """Give the day by which an invoice is to be paid: so many days after its date."""
    if not 0 <= days <= 365:
        raise ValueError("Days to pay lie between 0 and 365.")
    return issued_on + timedelta(days=days)


def number_invoice(sequence: int, prefix: str = "INV") -> str:
    """Number of the sequence-th invoice of its series: INV-000123."""
    if sequence < 1:
        raise ValueError("A series starts at 1.")
    return f"{prefix}-{sequence:06d}"


def may_issue_invoice(facts: InvoiceFacts) -> tuple[str, ...]:
    """Say what stands against issuing, as sentences for the office; empty when nothing does."""
    against = list(list_missing_particulars(facts.firm))
    if not facts.customer.name.strip():
        against.append("The customer has no name.")
    if not any(line.strip() for line in facts.customer.address):
        against.append("Enter the address the invoice goes to: an invoice must show it.")
    if not facts.lines:
        against.append("An invoice needs at least one line.")
    if facts.due_on < facts.issued_on:
        against.append("The invoice would be due before it is dated.")
    if any(not line.text.strip() for line in facts.lines):
        against.append("Every line needs words that say what it is for.")
    if any(line.price < 0 for line in facts.lines):
        against.append("A price is not negative: take money off with a negative quantity or an allowance.")
    vats = [line.vat for line in facts.lines] + [a.vat for a in facts.adjustments if a.vat is not None]
    if not facts.firm.vat_registered and any(vat != OUTSIDE_SCOPE for vat in vats):
        against.append("The firm is not registered for VAT, so it must not charge any.")
    if OUTSIDE_SCOPE in vats and len(set(vats)) > 1:
        against.append("What is outside the scope of VAT needs an invoice of its own (EN 16931, BR-O-11).")
    if any(vat.category == VatCategory.REVERSE_CHARGE for vat in vats) and not facts.customer.vat_number.strip():
        against.append("A reverse charge needs the customer's VAT number on the invoice (EN 16931, BR-AE-02).")
    if facts.lines and total_facts(facts).gross < 0:
        against.append("The total is below zero. Money back to a customer is a credit note.")
    return tuple(against)
