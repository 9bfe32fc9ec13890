"""Credit notes: the list, choosing what to credit of an invoice, looking it over, issuing it, and its paper."""

from decimal import Decimal, InvalidOperation
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.credit_notes import (
    CreditRequest,
    finish_credit_note,
    issue_credit_note,
    open_credit_note,
    preview_credit_note,
)
from app.actions.e_invoices import open_structured
from app.rules.credit_notes import CreditablePart, CreditWish, total_left
from app.rules.file_names import suggest_file_name
from app.rules.money import convert_from_pence
from app.rules.verdicts import Mistakes, Refused
from app.store.credit_note_facts import list_parts_of_invoice
from app.store.credit_notes import CreditNoteRow, count_credit_notes, get_credit_note, list_credit_notes
from app.store.invoices import InvoiceRow, get_invoice
from app.web.fields import Form
from app.web.kit import Asked, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf, xml

routes = APIRouter()
PAGE = 50
REASON_MOST = 300


@routes.get("/credit-notes")
def list_all_credit_notes(request: Request, session: Reading, asked: Asked) -> Response:
    search, start = asked.text("q"), asked.whole("from", 1) or 1
    return page(
        request,
        "credit_notes/list.html",
        credit_notes=list_credit_notes(session, search, PAGE, start - 1),
        search=search,
        first=start,
        size=PAGE,
        total=count_credit_notes(session, search),
    )


@routes.get("/invoices/{invoice_id}/credit-notes/new")
def new_credit_note(request: Request, session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    row = get_invoice(session, invoice_id)
    form = Form.showing(agreed_on=desk.today)
    return page(request, "credit_notes/new.html", form=form, **_shown(session, row))


@routes.post("/invoices/{invoice_id}/credit-notes")
def save_credit_note(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, invoice_id: int
) -> Response:
    """Looked over first: only the second press, with the total that was seen, issues it."""
    row = get_invoice(session, invoice_id)
    shown = _shown(session, row)
    if sent.value("then") == "change":
        return page(request, "credit_notes/new.html", form=sent, **shown)
    try:
        wanted = _request_from(sent, shown["parts"], desk)
        if sent.value("then") == "issue" and wanted.seen is not None:
            session.rollback()  # what was read is let go before the deed
            return go(f"/credit-notes/{issue_credit_note(desk, person, invoice_id, wanted)}")
        paper, in_time = preview_credit_note(session, row, wanted, desk.today)
    except Mistakes as wrong:
        raise ask_again(request, "credit_notes/new.html", sent, wrong, **_shown(session, row)) from wrong
    typed = {name: value for name, value in sent.values.items() if name not in ("csrf", "then", "seen")}
    return page(
        request,
        "credit_notes/review.html",
        invoice=row,
        paper=paper,
        in_time=in_time,
        typed=typed,
        seen=paper["totals"]["BT-112"],
    )


@routes.get("/credit-notes/{credit_note_id}/ubl.xml")
def download_credit_ubl(session: Reading, credit_note_id: int) -> Response:
    return _structured(get_credit_note(session, credit_note_id), "ubl")


@routes.get("/credit-notes/{credit_note_id}/cii.xml")
def download_credit_cii(session: Reading, credit_note_id: int) -> Response:
    return _structured(get_credit_note(session, credit_note_id), "cii")


def _structured(row: CreditNoteRow, syntax: str) -> Response:
    name = suggest_file_name("credit note", row.number, row.customer.name, row.issued_on, f"{syntax}.xml")
    return xml(open_structured(row, syntax), name)


@routes.get("/credit-notes/{credit_note_id}")
def show_credit_note(request: Request, session: Reading, credit_note_id: int) -> Response:
    row = get_credit_note(session, credit_note_id)
    return page(
        request,
        "credit_notes/show.html",
        credit_note=row,
        paper=row.data,
        invoice=get_invoice(session, row.invoice_id),
    )


@routes.post("/credit-notes/{credit_note_id}/issue")
def save_credit_note_paper(session: Reading, desk: TheDesk, person: ThePerson, credit_note_id: int) -> Response:
    """Make the paper of a credit note that a crash left without one."""
    get_credit_note(session, credit_note_id)
    session.rollback()
    finish_credit_note(desk, person, credit_note_id)
    return go(f"/credit-notes/{credit_note_id}")


@routes.get("/credit-notes/{credit_note_id}/paper.pdf")
def download_credit_note(session: Reading, desk: TheDesk, credit_note_id: int) -> Response:
    row = get_credit_note(session, credit_note_id)
    name = suggest_file_name("credit note", row.number, row.customer.name, row.issued_on)
    return pdf(open_credit_note(desk, row), name)


def _shown(session: Session, row: InvoiceRow) -> dict[str, Any]:
    if row.state != "issued":
        raise Refused("Only an issued invoice can be credited. A draft is changed or discarded.")
    parts = list_parts_of_invoice(session, row)
    return {
        "invoice": row,
        "parts": parts,
        "left": total_left(parts),
        "owed": convert_from_pence(row.owed_pence),
        "registered": bool((row.data or {}).get("registered", False)),
    }


def _request_from(sent: Form, parts: tuple[CreditablePart, ...], desk: TheDesk) -> CreditRequest:
    everything = sent.tick("everything")
    wishes = []
    for part in parts:
        quantity = sent.number(f"quantity_{part.place}", most="1000000000")
        amount = sent.pence(f"amount_{part.place}") if sent.value(f"amount_{part.place}").strip() else None
        if everything or sent.tick(f"all_{part.place}"):
            if part.left:
                wishes.append(CreditWish(part.place))
        elif quantity is not None and amount is not None:
            sent.blame(f"quantity_{part.place}", "Give a quantity or an amount, not both.")
        elif quantity is not None:
            wishes.append(CreditWish(part.place, quantity=quantity))
        elif amount is not None:
            wishes.append(CreditWish(part.place, amount=convert_from_pence(amount)))
    reason = sent.text("reason", REASON_MOST, needed="Say why it is credited: the credit note prints the reason.")
    agreed_on = sent.day("agreed_on", needed="Say on which day it was agreed or noticed.")
    sent.done()
    return CreditRequest(tuple(wishes), reason, agreed_on or desk.today, _seen(sent.value("seen")))


def _seen(text: str) -> Decimal | None:
    try:
        return Decimal(text) if text else None
    except InvalidOperation:
        return None
