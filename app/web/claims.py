"""Late payment: what may be claimed for an invoice, with its working; claiming, withdrawing a claim; and base rates."""

from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.base_rates import enter_base_rate, remove_base_rate
from app.actions.claims import claim_late_payment, finish_claim, open_claim, preview_claim, withdraw_claim
from app.rules.base_rates import BaseRateDetails
from app.rules.file_names import suggest_file_name
from app.rules.verdicts import Mistakes
from app.store.base_rates import list_base_rates
from app.store.claims import get_claim
from app.store.invoices import InvoiceRow, get_invoice
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf

routes = APIRouter()


@routes.get("/invoices/{invoice_id}/late-payment")
def show_late_payment(request: Request, session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    form = Form.showing(interest=True, fixed_sum=True)
    return page(request, "claims/show.html", form=form, **_shown(session, desk, get_invoice(session, invoice_id)))


@routes.post("/invoices/{invoice_id}/late-payment")
def save_claim(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, invoice_id: int
) -> Response:
    row = get_invoice(session, invoice_id)
    try:
        seen = sent.pence("seen")
        sent.done()
        interest, fixed_sum = sent.tick("interest"), sent.tick("fixed_sum")
        session.rollback()  # what was read is let go before the deed
        claim_late_payment(desk, person, invoice_id, interest, fixed_sum, Decimal(seen).scaleb(-2))
    except Mistakes as wrong:
        raise ask_again(request, "claims/show.html", sent, wrong, **_shown(session, desk, row)) from wrong
    return go(f"/invoices/{invoice_id}#story")


@routes.post("/claims/{claim_id}/issue")
def save_claim_paper(session: Reading, desk: TheDesk, person: ThePerson, claim_id: int) -> Response:
    """Make the paper of a claim that a crash left without one."""
    invoice_id = get_claim(session, claim_id).invoice_id
    session.rollback()
    finish_claim(desk, person, claim_id)
    return go(f"/invoices/{invoice_id}#story")


@routes.post("/claims/{claim_id}/withdraw")
def remove_claim(request: Request, desk: TheDesk, deed: Doing, sent: Sent, claim_id: int) -> Response:
    invoice_id = get_claim(deed.session, claim_id).invoice_id
    try:
        reason = sent.text("reason", 300)
        sent.done()
        withdraw_claim(deed, claim_id, reason)
    except Mistakes as wrong:
        row = get_invoice(deed.session, invoice_id)
        raise ask_again(request, "claims/show.html", sent, wrong, **_shown(deed.session, desk, row)) from wrong
    return go(f"/invoices/{invoice_id}#story")


@routes.get("/claims/{claim_id}/paper.pdf")
def download_claim(session: Reading, desk: TheDesk, claim_id: int) -> Response:
    row = get_claim(session, claim_id)
    return pdf(open_claim(desk, row), suggest_file_name("claim", row.number, row.customer.name, row.issued_on))


@routes.get("/base-rates")
def list_rates(request: Request, session: Reading) -> Response:
    return page(request, "base_rates/list.html", form=Form(), rates=list_base_rates(session))


@routes.post("/base-rates")
def save_rate(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        valid_from = sent.day("valid_from", needed="Say from which day it was in force.")
        percent = sent.number("percent", most="25")
        if percent is None:
            sent.blame("percent", "Give the rate in per cent.")
        source = sent.text("source", 200)
        sent.done()
        enter_base_rate(deed, BaseRateDetails(valid_from or deed.today, percent or Decimal(0), source))
    except Mistakes as wrong:
        raise ask_again(request, "base_rates/list.html", sent, wrong, rates=list_base_rates(deed.session)) from wrong
    return go("/base-rates")


@routes.post("/base-rates/{base_rate_id}/remove")
def remove_rate(deed: Doing, base_rate_id: int) -> Response:
    remove_base_rate(deed, base_rate_id)
    return go("/base-rates")


def _shown(session: Session, desk: TheDesk, row: InvoiceRow) -> dict[str, Any]:
    preview = preview_claim(session, row, desk.today)
    total = preview.claim.total if preview.claim else Decimal(0)
    return {"invoice": row, "preview": preview, "total": total, "today": desk.today}
