"""Payments: recording what came for one invoice or several, what went back, and taking it off or out again."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.payments import (
    match_credit,
    record_payment,
    refund_customer,
    remove_payment,
    take_payment,
    unmatch_payment,
)
from app.rules.payments import Method, OpenInvoice, PaymentDetails, suggest_shares
from app.rules.verdicts import Mistakes
from app.store.bank_lines import BankLineRow, get_bank_line
from app.store.customers import get_customer
from app.store.invoices import get_invoice, list_open_invoices
from app.store.payments import PaymentRow, get_payment
from app.web.accounts import show_on_account
from app.web.fields import Form
from app.web.filters import show_money
from app.web.invoices import show_on_invoice
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()
METHODS = [(method.value, method.word.capitalize()) for method in Method]


@routes.post("/invoices/{invoice_id}/payments")
def save_payment(request: Request, desk: TheDesk, deed: Doing, sent: Sent, invoice_id: int) -> Response:
    row = get_invoice(deed.session, invoice_id)
    try:
        details = _details_from(sent, desk)
        record_payment(deed, invoice_id, details.paid_on, details.pence, details.reference, details.method)
    except Mistakes as wrong:
        shown = show_on_invoice(deed.session, desk, row)
        raise ask_again(request, "invoices/show.html", sent, wrong, **shown) from wrong
    return go(f"/invoices/{invoice_id}#payments")


@routes.get("/customers/{customer_id}/payments/new")
def new_payment(request: Request, session: Reading, desk: TheDesk, asked: Asked, customer_id: int) -> Response:
    """The form for a payment that several invoices share; bank-line names a line of a statement to book with it."""
    line = _line(session, asked)
    invoices = list_open_invoices(session, customer_id)
    fields: dict[str, Any] = {"paid_on": desk.today, "method": Method.BANK_TRANSFER.value}
    if line is not None:
        fields |= {"paid_on": line.booked_on, "amount": _plain(line.pence), "reference": line.reference or line.text}
        fields |= {f"share_{each.id}": _plain(pence) for each, pence in suggest_shares(invoices, line.pence)}
    return page(request, "payments/new.html", form=Form.showing(**fields), **_new_shown(session, customer_id, line))


@routes.post("/customers/{customer_id}/payments")
def save_customer_payment(request: Request, desk: TheDesk, deed: Doing, sent: Sent, customer_id: int) -> Response:
    get_customer(deed.session, customer_id)
    line = _line(deed.session, sent)
    try:
        invoices = list_open_invoices(deed.session, customer_id)
        shares = _shares_from(sent, invoices)
        details = _details_from(sent, desk)
        if sent.value("how") == "oldest":
            shares = {each.id: pence for each, pence in suggest_shares(invoices, details.pence)}
        row = take_payment(deed, customer_id, details, shares, line.id if line else None)
    except Mistakes as wrong:
        shown = _new_shown(deed.session, customer_id, line)
        raise ask_again(request, "payments/new.html", sent, wrong, **shown) from wrong
    return go("/bank-statements#lines" if line is not None else f"/payments/{row.id}")


@routes.post("/customers/{customer_id}/refunds")
def save_refund(request: Request, desk: TheDesk, deed: Doing, sent: Sent, customer_id: int) -> Response:
    get_customer(deed.session, customer_id)
    try:
        refund_customer(deed, customer_id, _details_from(sent, desk))
    except Mistakes as wrong:
        shown = show_on_account(deed.session, desk, customer_id) | {"refund_form": sent}
        raise ask_again(request, "accounts/show.html", sent, wrong, **shown) from wrong
    return go(f"/customers/{customer_id}/account")


@routes.post("/customers/{customer_id}/credit")
def save_match(request: Request, desk: TheDesk, deed: Doing, sent: Sent, customer_id: int) -> Response:
    """Put what is held for the customer to invoices."""
    get_customer(deed.session, customer_id)
    try:
        shares = _shares_from(sent, list_open_invoices(deed.session, customer_id))
        sent.done()
        match_credit(deed, customer_id, shares)
    except Mistakes as wrong:
        shown = show_on_account(deed.session, desk, customer_id) | {"match_form": sent}
        raise ask_again(request, "accounts/show.html", sent, wrong, **shown) from wrong
    return go(f"/customers/{customer_id}/account")


@routes.get("/payments/{payment_id}")
def show_payment(request: Request, session: Reading, payment_id: int) -> Response:
    row = get_payment(session, payment_id)
    return page(request, "payments/show.html", form=Form(), **_payment_shown(session, row))


@routes.post("/payments/{payment_id}/unmatch")
def remove_share(deed: Doing, sent: Sent, payment_id: int) -> Response:
    unmatch_payment(deed, payment_id, sent.needed_whole("share", "Which invoice?"))
    return go(f"/payments/{payment_id}")


@routes.post("/payments/{payment_id}/remove")
def remove_wrong_payment(request: Request, deed: Doing, sent: Sent, payment_id: int) -> Response:
    row = get_payment(deed.session, payment_id)
    try:
        reason = sent.text("reason", 300)
        sent.done()
        remove_payment(deed, payment_id, reason)
    except Mistakes as wrong:
        raise ask_again(request, "payments/show.html", sent, wrong, **_payment_shown(deed.session, row)) from wrong
    return go(f"/payments/{payment_id}")


def _details_from(sent: Form, desk: TheDesk) -> PaymentDetails:
    paid_on = sent.day("paid_on", needed="Say on which day the money moved.")
    pence = sent.pence("amount")
    reference = sent.text("reference", 100)
    method = sent.choice("method", Method, Method.BANK_TRANSFER)
    sent.done()
    return PaymentDetails(paid_on or desk.today, pence, method, reference)


def _shares_from(sent: Form, invoices: list[OpenInvoice]) -> dict[int, int]:
    typed = {each.id: sent.pence(f"share_{each.id}") for each in invoices if sent.value(f"share_{each.id}").strip()}
    return {invoice_id: pence for invoice_id, pence in typed.items() if pence}


def _line(session: Session, form: Form) -> BankLineRow | None:
    line_id = form.whole("bank_line", 1, 2**31 - 1)
    return get_bank_line(session, line_id) if line_id is not None else None


def _new_shown(session: Session, customer_id: int, line: BankLineRow | None) -> dict[str, Any]:
    return {
        "customer": get_customer(session, customer_id),
        "invoices": list_open_invoices(session, customer_id),
        "line": line,
        "methods": METHODS,
    }


def _payment_shown(session: Session, row: PaymentRow) -> dict[str, Any]:
    invoices = {share.invoice_id: get_invoice(session, share.invoice_id) for share in row.shares}
    return {"payment": row, "invoices": invoices, "method": Method(row.method).word}


def _plain(pence: int) -> str:
    return show_money(pence).removeprefix("£")
