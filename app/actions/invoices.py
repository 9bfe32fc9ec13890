"""Drafting an invoice from a visit, editing the draft, issuing it, and recording payments."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from app.actions.deeds import Deed, Desk, check_version
from app.actions.paper_files import keep_paper, open_paper
from app.documents.invoice import invoice_from
from app.documents.pdf import to_pdf
from app.rules.equipment import Kind
from app.rules.invoices import (
    Basis,
    InvoiceFacts,
    InvoiceLine,
    PriceAgreement,
    VisitItem,
    list_visit_lines,
    may_issue_invoice,
    next_payment_date,
    number_invoice,
)
from app.rules.money import (
    OUTSIDE_SCOPE,
    Vat,
    VatCategory,
    convert_from_pence,
    convert_to_pence,
    total_invoice,
)
from app.rules.people import Person
from app.rules.vat_rates import VatTreatment, next_tax_point, number_vat_rate
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.certificates import find_certificate_of_visit
from app.store.firms import get_firm, next_in_series
from app.store.invoices import (
    InvoiceLineRow,
    InvoiceRow,
    PaymentRow,
    find_invoice_of_visit,
    get_invoice,
    list_pending_invoices,
)
from app.store.paper_facts import facts_of_customer, facts_of_premises
from app.store.prices import find_price_agreement
from app.store.readings import list_visit_items
from app.store.visits import get_visit


def draft_invoice(deed: Deed, visit_id: int) -> InvoiceRow:
    """Make the draft for a finished visit from the price agreement that held on its day; one that exists is given back."""
    visit = get_visit(deed.session, visit_id)
    if row := find_invoice_of_visit(deed.session, visit_id):
        return row
    if visit.state != VisitState.FINISHED:
        raise Refused("An invoice is drafted when the visit is finished; this one is " + visit.state + ".")
    agreed = find_price_agreement(deed.session, visit.customer_id, visit.booked_on)
    if agreed is None:
        raise Refused("There is no price agreement for this day. Enter the firm's prices in the settings, or agree prices with this customer.")
    agreement = PriceAgreement(
        fallback_price=convert_from_pence(agreed.item_pence),
        price_by_kind={Kind(price.kind): convert_from_pence(price.pence) for price in agreed.kinds},
        minimum_charge=convert_from_pence(agreed.minimum_pence) if agreed.minimum_pence else None,
        call_out=convert_from_pence(agreed.call_out_pence) if agreed.call_out_pence else None,
    )
    items = [VisitItem(row.item.number, Kind(row.kind), charged=not row.not_tested) for row in list_visit_items(deed.session, visit_id)]
    tax_point = visit.finished_on or deed.today
    vat = _vat_of(deed, tax_point)
    row = InvoiceRow(customer_id=visit.customer_id, visit_id=visit.id, tax_point=tax_point)
    row.lines = [_line_row(position, line) for position, line in enumerate(list_visit_lines(agreement, items, vat))]
    deed.session.add(row)
    _total(row)
    deed.session.flush()
    deed.note("invoice", row.id, f"Drafted the invoice for visit {visit_id}.")
    return row


def change_draft(deed: Deed, invoice_id: int, lines: Sequence[tuple[str, Decimal, Decimal]], reference: str = "", version: int | None = None) -> InvoiceRow:
    """Put other lines (text, quantity, price in pounds) in a draft. Raises Mistakes; refuses after issue.

    A line that keeps its text keeps what it rests on.
    """
    row = _draft(deed, invoice_id, version)
    vat = row.lines[0].vat_category, row.lines[0].vat_rate
    mistakes = {}
    for position, (text, quantity, price) in enumerate(lines):
        if not text.strip():
            mistakes[f"text_{position}"] = "Say what this line is for."
        if abs(quantity) > 100_000:
            mistakes[f"quantity_{position}"] = "This is more than an invoice line can be for."
        if not 0 <= price <= 1_000_000:
            mistakes[f"price_{position}"] = "Give a price from £0 to £1,000,000; take something off with a negative quantity."
    if not lines:
        mistakes["lines"] = "An invoice needs at least one line."
    if mistakes:
        raise Mistakes(mistakes)
    before = {line.description: line for line in row.lines}
    row.lines = []
    deed.session.flush()
    for position, (text, quantity, price) in enumerate(lines):
        old = before.get(text.strip())
        row.lines.append(InvoiceLineRow(
            position=position, description=text.strip(), quantity=quantity, price=price, vat_category=vat[0], vat_rate=vat[1],
            unit=old.unit if old else "", basis=old.basis if old else Basis.EXTRA.value, kind=old.kind if old else "",
            item_numbers=old.item_numbers if old else []))  # fmt: skip
    row.reference = reference.strip()
    _total(row)
    deed.session.flush()
    deed.note("invoice", row.id, "Changed the draft.")
    return row


def issue_invoice(desk: Desk, person: Person, invoice_id: int) -> None:
    """Number and freeze a draft, and make its paper. Refuses with what stands against it."""
    with desk.doing(person) as deed:
        row = get_invoice(deed.session, invoice_id)
        if row.state == "issued":
            raise Refused(f"This invoice is issued: {row.number}. A change needs a credit note.")
        if row.state == "draft":
            firm = get_firm(deed.session)
            row.number = number_invoice(next_in_series(deed.session, "invoice"), firm.invoice_prefix)
            row.issued_on, row.due_on = deed.today, next_payment_date(deed.today, firm.payment_days)
            row.issued_by_id = person.id
            facts = _facts(deed, row)
            if against := may_issue_invoice(facts):
                raise Refused(" ".join(against))
            _total(row)
            row.tax_point = facts.tax_point or row.tax_point
            row.state, row.data, row.file_name = "pending", invoice_from(facts), f"{row.number}.pdf"
            deed.note("invoice", row.id, f"Gave the number {row.number} to the invoice for visit {row.visit_id}.")
    finish_invoice(desk, person, invoice_id)


def finish_invoice(desk: Desk, person: Person | None, invoice_id: int) -> None:
    """Draw a pending invoice, keep the file, and mark it issued with its hash."""
    with desk.database.reading() as session:
        row = get_invoice(session, invoice_id)
        data, name, logo = row.data, row.file_name, get_firm(session).logo_png
    if data is None:
        raise Refused("This invoice is a draft.")
    content = to_pdf("invoice", data, logo_png=logo)
    sha256 = keep_paper(desk.papers_folder, name, content)
    with desk.doing(person) as deed:
        row = get_invoice(deed.session, invoice_id)
        if row.state == "pending":
            row.state, row.sha256, row.size_bytes = "issued", sha256, len(content)
            deed.note("invoice", row.id, f"Issued invoice {row.number}, SHA-256 {sha256}.")


def finish_pending_invoices(desk: Desk) -> int:
    """Draw every invoice that a crash left pending; gives their number."""
    with desk.database.reading() as session:
        pending = [row.id for row in list_pending_invoices(session)]
    for invoice_id in pending:
        finish_invoice(desk, None, invoice_id)
    return len(pending)


def open_invoice(desk: Desk, row: InvoiceRow) -> bytes:
    """The PDF of an issued invoice, checked against its hash."""
    if row.state != "issued":
        raise Refused("This invoice is not issued yet.")
    return open_paper(desk.papers_folder, row.file_name, row.sha256)


def record_payment(deed: Deed, invoice_id: int, paid_on: date, pence: int, reference: str = "") -> PaymentRow:
    """Record a payment of an issued invoice. Raises Mistakes for an amount that is not owed."""
    row = get_invoice(deed.session, invoice_id)
    if row.state != "issued":
        raise Refused("Only an issued invoice can be paid.")
    mistakes = {}
    if not 0 < pence <= row.owed_pence:
        mistakes["amount"] = f"There are £{convert_from_pence(row.owed_pence):,.2f} to pay on this invoice."
    if paid_on > deed.today:
        mistakes["paid_on"] = "This day has not come yet."
    if mistakes:
        raise Mistakes(mistakes)
    payment = PaymentRow(invoice_id=row.id, paid_on=paid_on, pence=pence, reference=reference.strip(), recorded_at=deed.now)
    deed.session.add(payment)
    deed.session.flush()
    deed.session.expire(row, ["payments"])
    deed.note("invoice", row.id, f"Recorded a payment of £{convert_from_pence(pence):,.2f} on {paid_on.isoformat()}.")
    return payment


def _draft(deed: Deed, invoice_id: int, version: int | None) -> InvoiceRow:
    row = get_invoice(deed.session, invoice_id)
    if row.state != "draft":
        raise Refused(f"Invoice {row.number} is issued and does not change. A change needs a credit note.")
    check_version(row, version, "this draft")
    return row


def _vat_of(deed: Deed, tax_point: date) -> Vat:
    return number_vat_rate(VatTreatment.STANDARD, tax_point) if get_firm(deed.session).vat_registered else OUTSIDE_SCOPE


def _line_row(position: int, line: InvoiceLine) -> InvoiceLineRow:
    return InvoiceLineRow(
        position=position, description=line.text, quantity=line.quantity, price=line.price, vat_category=line.vat.category.value,
        vat_rate=line.vat.rate, unit=line.unit, basis=line.basis.value, kind=line.kind.value if line.kind else "",
        item_numbers=list(line.item_numbers))  # fmt: skip


def line_from(row: InvoiceLineRow) -> InvoiceLine:
    """A stored line as the rules see it."""
    return InvoiceLine(row.description, row.quantity, row.price, Vat(VatCategory(row.vat_category), row.vat_rate), row.unit,
                       basis=Basis(row.basis), kind=Kind(row.kind) if row.kind else None, item_numbers=tuple(row.item_numbers))  # fmt: skip


def _facts(deed: Deed, row: InvoiceRow) -> InvoiceFacts:
    visit = row.visit
    supplied_on = visit.finished_on or deed.today
    issued_on = row.issued_on or deed.today
    certificate = find_certificate_of_visit(deed.session, visit.id)
    day = supplied_on
    return InvoiceFacts(
        number=row.number or "", firm=get_firm(deed.session).facts, customer=facts_of_customer(row.customer, visit.premises),
        issued_on=issued_on, supplied_on=supplied_on, due_on=row.due_on or issued_on, lines=tuple(line_from(line) for line in row.lines),
        tax_point=next_tax_point(supplied_on, issued_on), premises=facts_of_premises(visit.premises),
        work=f"Inspection and test on {day.day} {day:%B %Y}", customer_reference=row.reference,
        certificate_numbers=(certificate.number,) if certificate and certificate.state == "issued" else ())  # fmt: skip


def _total(row: InvoiceRow) -> None:
    totals = total_invoice([line_from(line).priced for line in row.lines])
    row.net_pence, row.vat_pence, row.gross_pence = (convert_to_pence(value) for value in (totals.net, totals.vat, totals.gross))
