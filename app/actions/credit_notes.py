"""Crediting an issued invoice, as a whole or in part: looked over, then numbered, frozen and drawn."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, say_day
from app.actions.money_papers import MoneyPaper, finish_money_paper, finish_pending_money_papers, open_money_paper
from app.actions.paper_codes import keep_code
from app.actions.payments import release_excess
from app.documents.credit_note import credit_note_from
from app.rules.credit_notes import (
    CreditablePart,
    CreditLine,
    CreditWish,
    limit_credit_note_day,
    list_credit_lines,
    may_credit,
    may_issue_credit_note,
    number_credit_note,
)
from app.rules.money import convert_to_pence
from app.rules.people import Person
from app.rules.verdicts import Mistakes, Refused
from app.store.credit_note_facts import facts_for_credit_note, list_parts_of_invoice
from app.store.credit_notes import (
    CreditNoteLineRow,
    CreditNoteRow,
    get_credit_note,
    list_pending_credit_notes,
)
from app.store.firms import get_firm, next_in_series
from app.store.invoices import InvoiceRow, get_invoice

KIND = MoneyPaper("credit note", get_credit_note, list_pending_credit_notes)


@dataclass(frozen=True)
class CreditRequest:
    """What somebody wants credited and why. agreed_on: the day the customer was told or it was agreed.

    seen: the total that the person has looked over, so that nothing is issued unseen; None: not looked over.
    """

    wishes: tuple[CreditWish, ...]
    reason: str
    agreed_on: date
    seen: Decimal | None = None


def preview_credit_note(
    session: Session, row: InvoiceRow, request: CreditRequest, today: date
) -> tuple[dict[str, Any], bool]:
    """What the credit note would print if it were issued today, and whether that is within 14 days. Raises Mistakes."""
    _check_invoice(row)
    parts = list_parts_of_invoice(session, row)
    lines = _lines(parts, request, row, today)
    facts = facts_for_credit_note(session, row, parts, lines, number="", reason=request.reason.strip(), today=today)
    return credit_note_from(facts), today <= limit_credit_note_day(request.agreed_on)


def issue_credit_note(desk: Desk, person: Person, invoice_id: int, request: CreditRequest) -> int:
    """Number and freeze a credit note, and make its paper; gives its id. Raises Mistakes for more than is left."""
    with desk.doing(person) as deed:
        credit_note_id = _freeze(deed, person, invoice_id, request, desk.public_address)
    finish_credit_note(desk, person, credit_note_id)
    return credit_note_id


def _freeze(deed: Deed, person: Person, invoice_id: int, request: CreditRequest, address: str) -> int:
    session = deed.session
    invoice = get_invoice(session, invoice_id, locked=True)  # whoever credits it next waits, and sees what is left then
    session.expire(invoice, ["shares", "credit_notes", "claims"])
    _check_invoice(invoice)
    parts = list_parts_of_invoice(session, invoice)
    lines = _lines(parts, request, invoice, deed.today)
    number = number_credit_note(next_in_series(session, "credit-note"), get_firm(session).credit_note_prefix)
    facts = facts_for_credit_note(
        session, invoice, parts, lines, number=number, reason=request.reason.strip(), today=deed.today
    )
    if against := may_issue_credit_note(facts):
        raise Refused(" ".join(against))
    if request.seen is not None and request.seen != facts.totals.gross:
        raise Refused("What is left of this invoice has changed since you looked it over. Look it over again.")
    row = CreditNoteRow(
        number=number,
        customer_id=invoice.customer_id,
        invoice_id=invoice.id,
        state="pending",
        reason=facts.reason,
        agreed_on=request.agreed_on,
        issued_on=deed.today,
        issued_at=deed.now,
        issued_by_id=person.id,
        net_pence=convert_to_pence(facts.totals.net),
        vat_pence=convert_to_pence(facts.totals.vat),
        gross_pence=convert_to_pence(facts.totals.gross),
        data=credit_note_from(facts),
        file_name=f"{number}.pdf",
        lines=[
            CreditNoteLineRow(place=line.place, quantity=line.counted, net_pence=convert_to_pence(line.net))
            for line in lines
        ],
    )
    session.add(row)
    session.flush()
    row.data = keep_code(deed, "credit note", row.id, row.data, address)
    late = "" if deed.today <= limit_credit_note_day(request.agreed_on) else ", later than 14 days after"
    pounds = f"£{facts.totals.gross:,.2f}"
    deed.note(
        "invoice",
        invoice.id,
        f"Credited {pounds} by {number}, agreed on {say_day(request.agreed_on)}{late}: {facts.reason}",
    )
    deed.note("credit note", row.id, f"Gave the number {number} to the credit note for invoice {invoice.number}.")
    release_excess(deed, invoice)
    return row.id


def finish_credit_note(desk: Desk, person: Person | None, credit_note_id: int) -> None:
    """Draw a pending credit note, keep the file, and mark it issued with its hash."""
    finish_money_paper(desk, person, KIND, credit_note_id)


def finish_pending_credit_notes(desk: Desk) -> int:
    """Draw every credit note that a crash left pending; gives their number."""
    return finish_pending_money_papers(desk, KIND)


def open_credit_note(desk: Desk, row: CreditNoteRow) -> bytes:
    """The PDF of an issued credit note, checked against its hash."""
    return open_money_paper(desk, KIND, row)


def _check_invoice(row: InvoiceRow) -> None:
    if row.state != "issued":
        raise Refused("Only an issued invoice can be credited. A draft is changed or discarded.")


def _lines(
    parts: tuple[CreditablePart, ...], request: CreditRequest, row: InvoiceRow, today: date
) -> tuple[CreditLine, ...]:
    mistakes: dict[str, str] = {}
    lines: tuple[CreditLine, ...] = ()
    try:
        lines = list_credit_lines(parts, request.wishes)
        if against := may_credit(parts, lines):
            mistakes[""] = " ".join(against)
    except Mistakes as wrong:
        mistakes |= wrong.messages
    if not request.reason.strip():
        mistakes["reason"] = "Say why it is credited: the credit note prints the reason."
    if request.agreed_on > today:
        mistakes["agreed_on"] = "This day has not come yet."
    elif row.issued_on is not None and request.agreed_on < row.issued_on:
        mistakes["agreed_on"] = "The invoice was issued after this day."
    if mistakes:
        raise Mistakes(mistakes)
    return lines
