"""Facts for an invoice: everything it says, collected from the rows of the draft, the visit and the firm."""

from datetime import date

from sqlalchemy.orm import Session

from app.rules.equipment import Kind
from app.rules.invoices import Basis, InvoiceFacts, InvoiceLine, next_payment_date, total_facts
from app.rules.money import Vat, VatCategory, VatGroup
from app.rules.vat_rates import next_tax_point
from app.store.certificates import find_certificate_of_visit
from app.store.firms import get_firm
from app.store.invoices import InvoiceLineRow, InvoiceRow
from app.store.paper_facts import facts_of_customer, facts_of_premises


def facts_of_line(row: InvoiceLineRow) -> InvoiceLine:
    """A stored line as the rules see it."""
    return InvoiceLine(
        row.description,
        row.quantity,
        row.price,
        Vat(VatCategory(row.vat_category), row.vat_rate),
        row.unit,
        basis=Basis(row.basis),
        kind=Kind(row.kind) if row.kind else None,
        item_numbers=tuple(row.item_numbers),
    )


def facts_for_invoice(session: Session, row: InvoiceRow, today: date) -> InvoiceFacts:
    """Everything the invoice says; for a draft, what it would say if it were issued today."""
    visit, firm = row.visit, get_firm(session)
    issued_on = row.issued_on or today
    supplied_on = visit.finished_on or issued_on
    certificate = find_certificate_of_visit(session, visit.id)
    return InvoiceFacts(
        number=row.number or "",
        firm=firm.facts,
        customer=facts_of_customer(row.customer, visit.premises),
        issued_on=issued_on,
        supplied_on=supplied_on,
        due_on=row.due_on or next_payment_date(issued_on, firm.payment_days),
        lines=tuple(facts_of_line(line) for line in row.lines),
        tax_point=next_tax_point(supplied_on, issued_on),
        premises=facts_of_premises(visit.premises),
        work=f"Inspection and test on {supplied_on.day} {supplied_on:%B %Y}",
        customer_reference=row.reference,
        certificate_numbers=(certificate.number,) if certificate and certificate.state == "issued" else (),
    )


def list_vat_groups(session: Session, row: InvoiceRow) -> tuple[VatGroup, ...]:
    """What an invoice charges at each VAT rate, by the arithmetic that made its paper."""
    return total_facts(facts_for_invoice(session, row, row.issued_on or row.tax_point)).groups
