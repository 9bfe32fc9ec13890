"""Invoices: the list with what is owed, one invoice, the review before it is issued, its PDF and its whole story."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.invoices import (
    discard_draft,
    draft_invoice,
    issue_invoice,
    open_invoice,
    preview_invoice,
)
from app.rules.file_names import suggest_file_name
from app.rules.invoice_states import InvoiceState
from app.rules.payments import Method
from app.rules.verdicts import Refused
from app.store.accounts import list_story_of_invoice
from app.store.invoices import InvoiceRow, count_invoices, count_owed_pence, get_invoice, list_invoice_page
from app.store.payments import count_held_pence
from app.store.saved_views import list_saved_views
from app.store.share_links import list_share_links
from app.web.fields import Form
from app.web.filters import show_money
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, go, page, pdf
from app.web.list_steps import show_place, show_steps

routes = APIRouter()
PAGE = 50
STATES = [
    ("draft", "Draft"),
    ("owed", "To be paid"),
    ("part paid", "Part paid"),
    ("overdue", "Overdue"),
    ("paid", "Paid"),
    ("credited", "Credited"),
]


@routes.get("/invoices")
def list_all_invoices(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    search, start = asked.text("q"), asked.whole("from", 1, 10**9) or 1
    state = asked.value("state") if asked.value("state") in dict(STATES) else ""
    found = list_invoice_page(session, show_place(asked), PAGE, state, search, desk.today)
    owed, overdue = count_owed_pence(session, desk.today)
    return page(
        request,
        "invoices/list.html",
        invoices=[(row, row.state_on(desk.today)) for row in found.rows],
        search=search,
        state=state,
        states=STATES,
        first=start,
        steps=show_steps("/invoices", asked, found, start, PAGE),
        views=list_saved_views(session, person.id, "/invoices"),
        total=count_invoices(session, None, state, search, desk.today),
        owed_pence=owed,
        overdue_pence=overdue,
        drafts=count_invoices(session, state="draft"),
        overdues=count_invoices(session, state="overdue", today=desk.today),
    )


@routes.post("/visits/{visit_id}/invoice")
def save_draft_of_visit(deed: Doing, visit_id: int) -> Response:
    return go(f"/invoices/{draft_invoice(deed, visit_id).id}")


@routes.get("/invoices/{invoice_id}")
def show_invoice(request: Request, session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    row = get_invoice(session, invoice_id)
    owed = show_money(row.owed_pence).removeprefix("£")
    form = Form.showing(paid_on=desk.today, amount=owed, method=Method.BANK_TRANSFER.value)
    return page(request, "invoices/show.html", form=form, **show_on_invoice(session, desk, row))


@routes.post("/invoices/{invoice_id}/discard")
def remove_draft(deed: Doing, sent: Sent, invoice_id: int) -> Response:
    return go(f"/visits/{discard_draft(deed, invoice_id, sent.version())}#papers")


@routes.get("/invoices/{invoice_id}/issue")
def show_review(request: Request, session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    row = get_invoice(session, invoice_id)
    if row.state != "draft":
        raise Refused(f"Invoice {row.number} is issued and does not change. A change needs a credit note.")
    paper, against = preview_invoice(session, row, desk.today)
    return page(request, "invoices/issue.html", invoice=row, paper=paper, against=against)


@routes.post("/invoices/{invoice_id}/issue")
def save_issue(desk: TheDesk, person: ThePerson, sent: Sent, invoice_id: int) -> Response:
    issue_invoice(desk, person, invoice_id, sent.version())
    return go(f"/invoices/{invoice_id}")


@routes.get("/invoices/{invoice_id}/paper.pdf")
def download_invoice(session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    row = get_invoice(session, invoice_id)
    content = open_invoice(desk, row)
    return pdf(content, suggest_file_name("invoice", row.number or "", row.customer.name, row.issued_on or desk.today))


def show_on_invoice(session: Session, desk: TheDesk, row: InvoiceRow) -> dict[str, Any]:
    """What the page of one invoice shows; also where a form on it comes back. A draft as it would be printed today."""
    paper, against = (row.data, ()) if row.data is not None else preview_invoice(session, row, desk.today)
    state = row.state_on(desk.today)
    return {
        "invoice": row,
        "paper": paper,
        "against": against,
        "state": state,
        "is_draft": state == InvoiceState.DRAFT,
        "share_links": list_share_links(session, visit_id=row.visit_id),
        "today": desk.today,
        "story": list_story_of_invoice(row),
        "methods": [(method.value, method.word.capitalize()) for method in Method],
        "held_pence": 0 if state == InvoiceState.DRAFT else count_held_pence(session, row.customer_id),
    }
