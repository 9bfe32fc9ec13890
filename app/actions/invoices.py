"""Issuing an invoice from its draft, and opening it."""

from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, check_version
from app.actions.drafts import (
    DraftLine,
    change_draft,
    discard_draft,
    draft_invoice,
    draft_invoice_of_visits,
    say_visits,
    total_draft,
)
from app.actions.money_papers import MoneyPaper, finish_money_paper, finish_pending_money_papers, open_money_paper
from app.actions.paper_codes import keep_code
from app.documents.invoice import invoice_from
from app.rules.invoices import may_issue_invoice, number_invoice
from app.rules.people import Person
from app.rules.verdicts import Refused
from app.store.firms import get_firm, next_in_series
from app.store.invoice_facts import facts_for_invoice
from app.store.invoices import InvoiceRow, get_invoice, list_pending_invoices

__all__ = [
    "DraftLine",
    "change_draft",
    "discard_draft",
    "draft_invoice",
    "draft_invoice_of_visits",
    "finish_invoice",
    "finish_pending_invoices",
    "issue_invoice",
    "open_invoice",
    "preview_invoice",
]

KIND = MoneyPaper("invoice", get_invoice, list_pending_invoices)


def preview_invoice(session: Session, row: InvoiceRow, today: date) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What a draft would print if it were issued today, and the sentences that stand against issuing it."""
    facts = facts_for_invoice(session, row, today)
    return invoice_from(facts), may_issue_invoice(facts)


def issue_invoice(
    desk: Desk, person: Person, invoice_id: int, version: int | None = None, patience: float | None = None
) -> None:
    """Number and freeze a draft, and make its paper. Refuses with what stands against it.

    version: that of the draft which the person has read, so that nothing is issued unseen. patience: seconds to wait
    for the paper, which is then drawn further in the background; None: until it is there.
    """
    with desk.doing(person) as deed:
        row = get_invoice(deed.session, invoice_id, locked=True)
        if row.state == "issued":
            raise Refused(f"This invoice is issued: {row.number}. A change needs a credit note.")
        if row.state == "draft":
            check_version(row, version, "this draft")
            _freeze(deed, row, person, desk.public_address)
    finish_invoice(desk, person, invoice_id, patience)


def _freeze(deed: Deed, row: InvoiceRow, person: Person, address: str) -> None:
    firm = get_firm(deed.session)
    facts = facts_for_invoice(deed.session, row, deed.today)
    for line, fixed in zip(row.lines, facts.lines, strict=True):  # the rates of the tax point, from now on kept
        line.vat_category, line.vat_rate = fixed.vat.category.value, fixed.vat.rate
    row.number = number_invoice(next_in_series(deed.session, "invoice"), firm.invoice_prefix)
    row.issued_on, row.due_on = facts.issued_on, facts.due_on
    row.issued_by_id, row.tax_point = person.id, facts.tax_point or row.tax_point
    facts = facts_for_invoice(deed.session, row, deed.today)
    if against := may_issue_invoice(facts):
        raise Refused(" ".join(against))
    total_draft(row, facts)
    row.data = keep_code(deed, "invoice", row.id, invoice_from(facts), address)
    row.state, row.file_name = "pending", f"{row.number}.pdf"
    deed.note("invoice", row.id, f"Gave the number {row.number} to the invoice for {say_visits(row)}.")


def finish_invoice(desk: Desk, person: Person | None, invoice_id: int, patience: float | None = None) -> None:
    """Draw a pending invoice, keep the file, and mark it issued with its hash. patience: as issue_invoice."""
    finish_money_paper(desk, person, KIND, invoice_id, patience)


def finish_pending_invoices(desk: Desk) -> int:
    """Draw every invoice that a crash left pending; gives their number."""
    return finish_pending_money_papers(desk, KIND)


def open_invoice(desk: Desk, row: InvoiceRow) -> bytes:
    """The PDF of an issued invoice, checked against its hash."""
    return open_money_paper(desk, KIND, row)
