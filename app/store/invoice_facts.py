"""Facts for an invoice: everything it says, collected from the rows of the draft, its visits and the firm."""

from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from app.rules.discounts import Discount, list_document_allowances, list_line_allowances, parse_discount
from app.rules.equipment import Kind
from app.rules.invoices import Basis, InvoiceFacts, InvoiceLine, next_payment_date, total_facts
from app.rules.money import OUTSIDE_SCOPE, Vat, VatCategory, VatGroup
from app.rules.vat_rates import VatTreatment, next_tax_point, number_vat_rate
from app.store.certificates import find_certificate_of_visit
from app.store.firms import get_firm
from app.store.invoices import InvoiceLineRow, InvoiceRow
from app.store.paper_facts import facts_of_customer, facts_of_premises
from app.store.quotes import find_quote_of_visit
from app.store.visits import VisitRow


def facts_of_line(row: InvoiceLineRow) -> InvoiceLine:
    """A stored line as the rules see it."""
    return InvoiceLine(
        row.description,
        row.quantity,
        row.price,
        Vat(VatCategory(row.vat_category), row.vat_rate),
        row.unit,
        adjustments=list_line_allowances(parse_discount(row.discount), row.quantity, row.price),
        basis=Basis(row.basis),
        kind=Kind(row.kind) if row.kind else None,
        item_numbers=tuple(row.item_numbers),
        visit_id=row.visit_id,
    )


def facts_of_discount(row: InvoiceRow) -> Discount | None:
    """What is taken off the whole invoice."""
    return parse_discount(row.discount, row.discount_reason)


def facts_for_invoice(session: Session, row: InvoiceRow, today: date) -> InvoiceFacts:
    """Everything the invoice says; for a draft, what it would say if it were issued today.

    The rate of a line of a draft is that of the tax point of its visit.
    """
    firm = get_firm(session)
    issued_on = row.issued_on or today
    visits = [each.visit for each in row.visits] or [row.visit]
    days = {visit.id: visit.finished_on or issued_on for visit in visits}
    first, last = min(days.values()), max(days.values())
    lines = [facts_of_line(line) for line in row.lines]
    if row.state == "draft":
        treatments = [VatTreatment(line.treatment) for line in row.lines]
        points = [next_tax_point(days.get(line.visit_id or 0, last), issued_on) for line in lines]
        rates = [
            number_vat_rate(treatment, point) if firm.vat_registered else OUTSIDE_SCOPE
            for treatment, point in zip(treatments, points, strict=True)
        ]
        lines = [replace(line, vat=rate) for line, rate in zip(lines, rates, strict=True)]
    certificates = [find_certificate_of_visit(session, visit.id) for visit in visits]
    quotes = [find_quote_of_visit(session, visit.id) for visit in visits]
    one_place = len({visit.premises_id for visit in visits}) == 1
    return InvoiceFacts(
        number=row.number or "",
        firm=firm.facts,
        customer=facts_of_customer(row.customer, visits[0].premises),
        issued_on=issued_on,
        supplied_on=last,
        due_on=row.due_on or next_payment_date(issued_on, firm.payment_days),
        lines=tuple(lines),
        tax_point=next_tax_point(last, issued_on),
        premises=facts_of_premises(visits[0].premises) if one_place else None,
        adjustments=list_document_allowances(facts_of_discount(row), [line.priced for line in lines]),
        work=_work(visits, first, last),
        customer_reference=row.reference,
        certificate_numbers=tuple(each.number for each in certificates if each and each.state == "issued"),
        supplied_from=first,
        quote_numbers=tuple(dict.fromkeys(each.number for each in quotes if each and each.number)),
    )


def list_vat_groups(session: Session, row: InvoiceRow) -> tuple[VatGroup, ...]:
    """What an invoice charges at each VAT rate, by the arithmetic that made its paper."""
    return total_facts(facts_for_invoice(session, row, row.issued_on or row.tax_point)).groups


def _work(visits: list[VisitRow], first: date, last: date) -> str:
    if len(visits) == 1 or first == last:
        return f"Inspection and test on {last.day} {last:%B %Y}"
    return f"Inspection and test at {len(visits)} visits, {first.day} {first:%B %Y} to {last.day} {last:%B %Y}"
