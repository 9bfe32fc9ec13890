"""Drafting an invoice from a visit, editing the draft, and issuing it."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, check_version
from app.actions.paper_files import draw_paper, open_paper, settle_paper
from app.documents.invoice import invoice_from
from app.rules.equipment import Kind
from app.rules.invoices import (
    Basis,
    InvoiceLine,
    PriceAgreement,
    VisitItem,
    list_visit_lines,
    may_issue_invoice,
    number_invoice,
)
from app.rules.money import OUTSIDE_SCOPE, Vat, convert_from_pence, convert_to_pence, total_invoice
from app.rules.people import Person
from app.rules.put_right_lines import OnSpot, list_put_right_lines
from app.rules.remedies import Change
from app.rules.vat_rates import VatTreatment, number_vat_rate
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.firms import get_firm, next_in_series
from app.store.invoice_facts import facts_for_invoice, facts_of_line
from app.store.invoices import (
    InvoiceLineRow,
    InvoiceRow,
    find_invoice_of_visit,
    get_invoice,
    list_pending_invoices,
)
from app.store.prices import PriceAgreementRow, find_price_agreement
from app.store.readings import list_visit_items
from app.store.rounds import list_rounds_of
from app.store.visits import get_visit


class DraftLine(NamedTuple):
    """A line as somebody typed it. price is in pounds without VAT; line_id names the stored line that it changes."""

    text: str
    quantity: Decimal
    price: Decimal
    line_id: int | None = None


def draft_invoice(deed: Deed, visit_id: int) -> InvoiceRow:
    """Make the draft of a finished visit from the prices that held on its day; one that exists is given back."""
    visit = get_visit(deed.session, visit_id, locked=True)
    if row := find_invoice_of_visit(deed.session, visit_id):
        return row
    if visit.state != VisitState.FINISHED:
        raise Refused("An invoice is drafted when the visit is finished; this one is " + visit.state + ".")
    agreed = find_price_agreement(deed.session, visit.customer_id, visit.booked_on)
    if agreed is None:
        raise Refused(
            "No prices are agreed for the day of this visit. The owner enters the firm's own prices, "
            "or prices are agreed with this customer."
        )
    items = [
        VisitItem(row.item.number, Kind(row.kind), charged=not row.not_tested)
        for row in list_visit_items(deed.session, visit_id)
    ]
    tax_point = visit.finished_on or deed.today
    vat = _vat_of(deed, tax_point)
    done = [
        OnSpot(Change(earlier.change), earlier.put_right, number)
        for earlier, number in list_rounds_of(deed.session, [visit_id])
    ]
    lines = (*list_visit_lines(_agreement(agreed), items, vat), *list_put_right_lines(done, vat))
    row = InvoiceRow(customer_id=visit.customer_id, visit_id=visit.id, tax_point=tax_point)
    row.lines = [_line_row(position, line) for position, line in enumerate(lines)]
    deed.session.add(row)
    _total(row)
    deed.session.flush()
    deed.note("invoice", row.id, f"Drafted the invoice for visit {visit_id}.")
    return row


def change_draft(
    deed: Deed,
    invoice_id: int,
    lines: Sequence[DraftLine | tuple[str, Decimal, Decimal]],
    reference: str = "",
    version: int | None = None,
) -> InvoiceRow:
    """Put these lines in a draft in place of its own. Raises Mistakes; refuses after issue.

    A line that names the stored line it changes, or has its words, keeps what that one rests on: items, unit, kind.
    """
    row = _draft(deed, invoice_id, version)
    typed = [DraftLine(*line) for line in lines]
    if mistakes := _mistakes_of(typed):
        raise Mistakes(mistakes)
    vat = _vat_of(deed, row.tax_point)
    before = {line.id: line for line in row.lines}
    same_words = {line.description: line.id for line in row.lines}
    new = []
    for position, line in enumerate(typed):
        old = before.pop(line.line_id or same_words.get(line.text.strip(), 0), None)
        rests_on = facts_of_line(old) if old else InvoiceLine("", line.quantity, line.price, vat, basis=Basis.EXTRA)
        facts = InvoiceLine(
            line.text.strip(),
            line.quantity,
            line.price,
            vat,
            rests_on.unit,
            basis=rests_on.basis,
            kind=rests_on.kind,
            item_numbers=rests_on.item_numbers,
        )
        new.append(_line_row(position, facts))
    row.lines = new
    row.reference = reference.strip()
    _total(row)
    deed.session.flush()
    deed.note("invoice", row.id, "Changed the draft.")
    return row


def discard_draft(deed: Deed, invoice_id: int, version: int | None = None) -> int:
    """Throw a draft away, so that it can be drafted anew; gives the id of its visit. A draft has no number to lose."""
    row = _draft(deed, invoice_id, version)
    deed.session.delete(row)
    deed.note("invoice", invoice_id, f"Discarded the draft for visit {row.visit_id}.")
    return row.visit_id


def preview_invoice(session: Session, row: InvoiceRow, today: date) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What a draft would print if it were issued today, and the sentences that stand against issuing it."""
    facts = facts_for_invoice(session, row, today)
    return invoice_from(facts), may_issue_invoice(facts)


def issue_invoice(desk: Desk, person: Person, invoice_id: int, version: int | None = None) -> None:
    """Number and freeze a draft, and make its paper. Refuses with what stands against it.

    version: that of the draft which the person has read, so that nothing is issued unseen.
    """
    with desk.doing(person) as deed:
        row = get_invoice(deed.session, invoice_id, locked=True)
        if row.state == "issued":
            raise Refused(f"This invoice is issued: {row.number}. A change needs a credit note.")
        if row.state == "draft":
            check_version(row, version, "this draft")
            _freeze(deed, row, person)
    finish_invoice(desk, person, invoice_id)


def _freeze(deed: Deed, row: InvoiceRow, person: Person) -> None:
    firm = get_firm(deed.session)
    facts = facts_for_invoice(deed.session, row, deed.today)
    vat = _vat_of(deed, facts.tax_point or row.tax_point)
    for line in row.lines:  # the rate is that of the tax point, whatever held when the draft was made
        line.vat_category, line.vat_rate = vat.category.value, vat.rate
    row.number = number_invoice(next_in_series(deed.session, "invoice"), firm.invoice_prefix)
    row.issued_on, row.due_on = facts.issued_on, facts.due_on
    row.issued_by_id, row.tax_point = person.id, facts.tax_point or row.tax_point
    facts = facts_for_invoice(deed.session, row, deed.today)
    if against := may_issue_invoice(facts):
        raise Refused(" ".join(against))
    _total(row)
    row.state, row.data, row.file_name = "pending", invoice_from(facts), f"{row.number}.pdf"
    deed.note("invoice", row.id, f"Gave the number {row.number} to the invoice for visit {row.visit_id}.")


def finish_invoice(desk: Desk, person: Person | None, invoice_id: int) -> None:
    """Draw a pending invoice, keep the file, and mark it issued with its hash."""
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        data, logo = row.data, get_firm(session).logo_png
    if data is None:
        raise Refused("This invoice is a draft.")
    content = draw_paper("invoice", data, logo)
    with desk.doing(person) as deed:
        row = get_invoice(deed.session, invoice_id, locked=True)
        settle_paper(deed, desk.papers_folder, "invoice", row, content)


def finish_pending_invoices(desk: Desk) -> int:
    """Draw every invoice that a crash left pending; gives their number."""
    with desk.reading_only() as session:
        pending = [row.id for row in list_pending_invoices(session)]
    for invoice_id in pending:
        finish_invoice(desk, None, invoice_id)
    return len(pending)


def open_invoice(desk: Desk, row: InvoiceRow) -> bytes:
    """The PDF of an issued invoice, checked against its hash."""
    if row.state != "issued":
        raise Refused("This invoice is not issued yet.")
    return open_paper(desk.papers_folder, row.file_name, row.sha256)


def _draft(deed: Deed, invoice_id: int, version: int | None) -> InvoiceRow:
    row = get_invoice(deed.session, invoice_id, locked=True)
    if row.state != "draft":
        raise Refused(f"Invoice {row.number} is issued and does not change. A change needs a credit note.")
    check_version(row, version, "this draft")
    return row


def _mistakes_of(lines: Sequence[DraftLine]) -> dict[str, str]:
    mistakes = {} if lines else {"": "An invoice needs at least one line."}
    for position, line in enumerate(lines):
        if not line.text.strip():
            mistakes[f"text_{position}"] = "Say what this line is for."
        if line.quantity == 0 or abs(line.quantity) > 100_000:
            mistakes[f"quantity_{position}"] = "Give a quantity other than 0, up to 100,000."
        if not 0 <= line.price <= 1_000_000:
            mistakes[f"price_{position}"] = (
                "Give a price from £0 to £1,000,000; take something off with a negative quantity."
            )
    return mistakes


def _agreement(row: PriceAgreementRow) -> PriceAgreement:
    return PriceAgreement(
        fallback_price=convert_from_pence(row.item_pence),
        price_by_kind={Kind(price.kind): convert_from_pence(price.pence) for price in row.kinds},
        minimum_charge=convert_from_pence(row.minimum_pence) if row.minimum_pence else None,
        call_out=convert_from_pence(row.call_out_pence) if row.call_out_pence else None,
    )


def _vat_of(deed: Deed, tax_point: date) -> Vat:
    registered = get_firm(deed.session).vat_registered
    return number_vat_rate(VatTreatment.STANDARD, tax_point) if registered else OUTSIDE_SCOPE


def _line_row(position: int, line: InvoiceLine) -> InvoiceLineRow:
    return InvoiceLineRow(
        position=position,
        description=line.text,
        quantity=line.quantity,
        price=line.price,
        vat_category=line.vat.category.value,
        vat_rate=line.vat.rate,
        unit=line.unit,
        basis=line.basis.value,
        kind=line.kind.value if line.kind else "",
        item_numbers=list(line.item_numbers),
    )


def _total(row: InvoiceRow) -> None:
    totals = total_invoice([facts_of_line(line).priced for line in row.lines])
    row.net_pence, row.vat_pence, row.gross_pence = (
        convert_to_pence(value) for value in (totals.net, totals.vat, totals.gross)
    )
