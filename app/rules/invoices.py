"""What an invoice says, as plain facts; how a visit becomes its lines; and whether it may be issued.

The contents follow regulation 14 of the VAT Regulations 1995 (SI 1995/2518) and the firm's legal form. A firm
that is not registered for VAT charges none, and its papers do not mention it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from app.rules.certificates import CustomerFacts, PremisesFacts
from app.rules.equipment import Kind
from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.money import (
    OUTSIDE_SCOPE,
    ZERO,
    Adjustment,
    Line,
    Totals,
    Vat,
    total_invoice,
    total_line,
)


class Basis(StrEnum):
    """What a line charges for."""

    ITEMS = "items"
    CALL_OUT = "call-out"
    MINIMUM = "minimum"
    EXTRA = "extra"


@dataclass(frozen=True)
class PriceAgreement:
    """What a customer pays, in pounds without VAT. A kind without its own price costs the fallback.

    minimum_charge: the least a visit costs, call-out included. call_out: once a visit. None: not agreed.
    """

    fallback_price: Decimal
    price_by_kind: Mapping[Kind, Decimal] = field(default_factory=dict)
    minimum_charge: Decimal | None = None
    call_out: Decimal | None = None


@dataclass(frozen=True)
class VisitItem:
    """An item of a finished visit as the price sees it. charged False: not tested, so it costs nothing."""

    number: str
    kind: Kind
    charged: bool = True


@dataclass(frozen=True)
class InvoiceLine:
    """One line. price in pounds for base_quantity; item_numbers and kind say what it rests on."""

    text: str
    quantity: Decimal
    price: Decimal
    vat: Vat
    unit: str = ""
    base_quantity: Decimal = Decimal(1)
    adjustments: tuple[Adjustment, ...] = ()
    basis: Basis = Basis.EXTRA
    kind: Kind | None = None
    item_numbers: tuple[str, ...] = ()

    @property
    def priced(self) -> Line:
        return Line(self.quantity, self.price, self.vat, self.base_quantity, self.adjustments)


@dataclass(frozen=True)
class InvoiceFacts:
    """Everything an invoice says.

    supplied_on: day the work was finished. tax_point: date that decides the VAT rate; supplied_on when None.
    customer_reference: the customer's order number. work: a phrase, "Inspection and test on 4 March 2026".
    certificate_numbers: papers the invoice rests on. terms: more about paying than the due date says.
    payment_reference: what the customer quotes when paying; the invoice's number when empty.
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


_KIND_WORDS = {
    Kind.APPLIANCE: "appliance",
    Kind.EXTENSION_LEAD: "extension lead",
    Kind.MULTIWAY_LEAD: "multiway lead",
    Kind.DETACHABLE_CORD: "detachable cord",
    Kind.RCD_LEAD: "lead with RCD",
    Kind.PORTABLE_RCD: "portable RCD",
    Kind.MICROWAVE_OVEN: "microwave oven",
    Kind.CHARGER: "charger",
    Kind.POWER_SUPPLY: "power supply",
    Kind.THREE_PHASE_LEAD: "three-phase lead",
}


def total_facts(facts: InvoiceFacts) -> Totals:
    """Work out the totals of an invoice from its lines and adjustments."""
    return total_invoice([line.priced for line in facts.lines], facts.adjustments, facts.paid, facts.rounding)


def list_visit_lines(
    agreement: PriceAgreement, items: Sequence[VisitItem], vat: Vat, *, what: str = "Inspection and test"
) -> tuple[InvoiceLine, ...]:
    """List the draft lines of a finished visit: one a priced kind, the call-out, the top-up to the minimum.

    Each line carries the numbers of the items it charges for. Items that were not tested cost nothing. Kinds
    without a price of their own share one line. vat: as it holds at the tax point; OUTSIDE_SCOPE for a firm
    that is not registered.
    """
    lines: list[InvoiceLine] = []
    groups: dict[Kind | None, list[str]] = {kind: [] for kind in [None, *agreement.price_by_kind]}
    for item in items:
        if item.charged:
            groups[item.kind if item.kind in agreement.price_by_kind else None].append(item.number)
    for kind, numbers in groups.items():
        if not numbers:
            continue
        price = agreement.fallback_price if kind is None else agreement.price_by_kind[kind]
        text = what if kind is None else f"{what}: {_KIND_WORDS[kind]}"
        count, unit = Decimal(len(numbers)), "item" if len(numbers) == 1 else "items"
        lines.append(
            InvoiceLine(text, count, price, vat, unit, basis=Basis.ITEMS, kind=kind, item_numbers=tuple(numbers))
        )
    if agreement.call_out:
        call_out = agreement.call_out
        lines.append(InvoiceLine("Call-out", Decimal(1), call_out, vat, "visit", basis=Basis.CALL_OUT))
    so_far = sum((total_line(line.priced) for line in lines), ZERO)
    if agreement.minimum_charge is not None and so_far < agreement.minimum_charge:
        text = f"Up to the agreed minimum of £{agreement.minimum_charge:,.2f} a visit"
        top_up = agreement.minimum_charge - so_far
        lines.append(InvoiceLine(text, Decimal(1), top_up, vat, "visit", basis=Basis.MINIMUM))
    return tuple(lines)


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
    if facts.lines and total_facts(facts).gross < 0:
        against.append("The total is below zero. Money back to a customer is a credit note.")
    return tuple(against)
