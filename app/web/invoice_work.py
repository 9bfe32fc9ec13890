"""What an invoice rests on: choosing the visits for a draft, the work behind each line, and the structured files."""

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.drafts import draft_invoice_of_visits
from app.actions.e_invoices import open_structured
from app.rules.file_names import suggest_file_name
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.invoices import InvoiceRow, get_invoice
from app.store.overviews import list_uninvoiced_visits
from app.store.readings import VisitItemRow, list_visit_items
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, TheDesk, ask_again, go, page, xml

routes = APIRouter()


@routes.get("/customers/{customer_id}/invoices/new")
def new_invoice(request: Request, session: Reading, customer_id: int) -> Response:
    return page(request, "invoices/new.html", form=Form(), **_choice(session, customer_id))


@routes.post("/customers/{customer_id}/invoices")
def save_new_invoice(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    context = _choice(deed.session, customer_id)
    try:
        chosen = [visit.id for visit in context["visits"] if sent.tick(f"visit_{visit.id}")]
        row = draft_invoice_of_visits(deed, chosen)
    except Mistakes as wrong:
        raise ask_again(request, "invoices/new.html", sent, wrong, **context) from wrong
    return go(f"/invoices/{row.id}")


@routes.get("/invoices/{invoice_id}/work")
def show_work(request: Request, session: Reading, invoice_id: int) -> Response:
    """For each line the visit and the items that it charges for, with what was found, and what was not charged."""
    row = get_invoice(session, invoice_id)
    visits = [each.visit for each in row.visits] or [row.visit]
    done = {visit.id: list_visit_items(session, visit.id) for visit in visits}
    by_number = {visit_id: {each.item.number: each for each in rows} for visit_id, rows in done.items()}
    charged = {(line.visit_id or row.visit_id, number) for line in row.lines for number in line.item_numbers}
    left = [each for visit_id, rows in done.items() for each in rows if (visit_id, each.item.number) not in charged]
    lines = [(line, _work_of(line, row, by_number)) for line in row.lines]
    return page(request, "invoices/work.html", invoice=row, visits=visits, lines=lines, left=left)


@routes.get("/invoices/{invoice_id}/ubl.xml")
def download_ubl(session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    return _structured(get_invoice(session, invoice_id), desk, "ubl")


@routes.get("/invoices/{invoice_id}/cii.xml")
def download_cii(session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    return _structured(get_invoice(session, invoice_id), desk, "cii")


def _structured(row: InvoiceRow, desk: TheDesk, syntax: str) -> Response:
    name = suggest_file_name(
        "invoice", row.number or "", row.customer.name, row.issued_on or desk.today, f"{syntax}.xml"
    )
    return xml(open_structured(row, syntax), name)


def _work_of(line: Any, row: InvoiceRow, by_number: Mapping[int, Mapping[str, VisitItemRow]]) -> list[VisitItemRow]:
    """The items of a line as the visit found them."""
    found = by_number.get(line.visit_id or row.visit_id, {})
    return [found[number] for number in line.item_numbers if number in found]


def _choice(session: Session, customer_id: int) -> dict[str, Any]:
    customer = get_customer(session, customer_id)
    return {"customer": customer, "visits": list_uninvoiced_visits(session, customer_id, drafted=False)}
