"""Printing labels: choose the items of premises or of a visit, the labels and where to begin; numbers printed ahead.

And the address that a label's code holds: it opens the item for people of the firm, and tells nothing to anybody else.
"""

import re
from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.labels import draw_item_labels, draw_number_labels, reserve_numbers
from app.rules.labels import LABELS_MOST, Standing, parse_label_address
from app.rules.people import Role
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.customers import CustomerRow, get_customer
from app.store.items import ItemRow, find_item_by_number, list_items
from app.store.label_facts import facts_for_labels
from app.store.label_sheets import LabelSheetRow, list_label_sheets
from app.store.number_runs import get_number_run, list_number_runs
from app.store.premises import get_premises, list_premises
from app.store.readings import find_visit_item, list_visit_items
from app.store.visits import get_visit, list_visits
from app.web.fields import Form
from app.web.guard import ID_MOST
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page, pdf

routes = APIRouter()
#: Private addresses of RFC 1918.
PRIVATE = re.compile(r"(10|192\.168|172\.(1[6-9]|2[0-9]|3[01]))\.[0-9.]+$")
WHICH = {
    "": "Every item",
    "passed": "Passed",
    "failed": "Failed or out of use",
    "untested": "Not tested yet",
}


@routes.get("/premises/{premises_id}/labels")
def show_premises_labels(request: Request, session: Reading, desk: TheDesk, asked: Asked, premises_id: int) -> Response:
    premises = get_premises(session, premises_id)
    rows = list_items(session, premises.id, location_id=asked.whole("location", 1, ID_MOST))
    return page(
        request,
        "labels/show.html",
        title=premises.name,
        here=f"/premises/{premises.id}",
        where="premises",
        places=[(row.id, row.name) for row in premises.locations],
        **_choosing(session, desk, asked, rows),
    )


@routes.get("/visits/{visit_id}/labels")
def show_visit_labels(request: Request, session: Reading, desk: TheDesk, asked: Asked, visit_id: int) -> Response:
    visit = get_visit(session, visit_id)
    location_id = asked.whole("location", 1, ID_MOST)
    tested = [row for row in list_visit_items(session, visit.id) if row.tested_at is not None and not row.not_tested]
    rows = [row.item for row in tested if location_id in (None, row.location_id)]
    return page(
        request,
        "labels/show.html",
        title=visit.premises.name,
        here=f"/visits/{visit.id}",
        where="visit",
        places=[(row.id, row.name) for row in visit.premises.locations],
        **_choosing(session, desk, asked, rows),
    )


@routes.get("/premises/{premises_id}/labels.pdf")
def download_premises_labels(
    request: Request, session: Reading, desk: TheDesk, asked: Asked, premises_id: int
) -> Response:
    wanted = _ticked(request)
    chosen = [row.id for row in list_items(session, get_premises(session, premises_id).id) if row.id in wanted]
    return _labels(session, desk, asked, chosen)


@routes.get("/visits/{visit_id}/labels.pdf")
def download_visit_labels(request: Request, session: Reading, desk: TheDesk, asked: Asked, visit_id: int) -> Response:
    wanted = _ticked(request)
    rows = list_visit_items(session, get_visit(session, visit_id).id)
    return _labels(session, desk, asked, [row.item_id for row in rows if row.item_id in wanted])


@routes.get("/customers/{customer_id}/labels")
def show_number_runs(request: Request, session: Reading, asked: Asked, customer_id: int) -> Response:
    customer = get_customer(session, customer_id)
    return page(request, "labels/numbers.html", form=Form(), **_numbers(session, asked, customer))


@routes.post("/customers/{customer_id}/number-runs")
def save_number_run(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    customer = get_customer(deed.session, customer_id)
    try:
        count = sent.needed_whole("count", "Say how many numbers.", LABELS_MOST)
        sent.done()
        run = reserve_numbers(deed, customer.id, count)
    except Mistakes as wrong:
        raise ask_again(
            request, "labels/numbers.html", sent, wrong, **_numbers(deed.session, Form(), customer)
        ) from wrong
    return go(f"/customers/{customer.id}/labels?run={run.id}")


@routes.get("/number-runs/{number_run_id}/labels.pdf")
def download_number_labels(session: Reading, desk: TheDesk, asked: Asked, number_run_id: int) -> Response:
    run, sheet_id, start = get_number_run(session, number_run_id), *_sheet_and_start(asked)
    return pdf(draw_number_labels(desk, session, sheet_id, run.id, start), f"labels-{run.id}.pdf")


@routes.get("/L/{customer_id}/{number}")
def show_label(request: Request, session: Reading, customer_id: str, number: str) -> Response:
    """Lead a person of the firm to the item, on the sheet of a visit under way if it is on one."""
    person = request.state.person
    found = parse_label_address(f"/L/{customer_id}/{number}")
    if person is None or found is None or found.customer_id > ID_MOST:
        return page(request, "labels/ask.html", next=request.url.path if found else "/")
    customer = get_customer(session, found.customer_id)
    item = find_item_by_number(session, customer.id, found.number)
    under_way = list_visits(session, state=VisitState.UNDER_WAY, customer_id=customer.id)
    if person.role == Role.TECHNICIAN:
        under_way = [visit for visit in under_way if visit.technician_id == person.id]
    for visit in under_way:
        if item is None or find_visit_item(session, visit.id, item.id):
            return go(f"/visits/{visit.id}/items/{item.id}" if item else f"/visits/{visit.id}/find?number={number}")
    if item is not None:
        return go(f"/items/{item.id}")
    places = list_premises(session, customer.id)
    return page(request, "labels/unknown.html", number=found.number, customer=customer, premises=places)


def _labels(session: Session, desk: TheDesk, asked: Form, item_ids: Sequence[int]) -> Response:
    sheet_id, start = _sheet_and_start(asked)
    return pdf(draw_item_labels(desk, session, sheet_id, item_ids, start), "labels.pdf")


def _sheet_and_start(asked: Form) -> tuple[int, int]:
    sheet_id, start = asked.whole("sheet", 1, ID_MOST), asked.whole("start", 1, 1000) or 1
    if sheet_id is None:
        raise Refused("Choose the labels that are in the printer.")
    return sheet_id, start


def _ticked(request: Request) -> set[int]:
    """The items that were ticked: item=3&item=4."""
    return {int(text) for text in request.query_params.getlist("item") if text.isdecimal() and len(text) < 10}


def _choosing(session: Session, desk: TheDesk, asked: Form, rows: Sequence[ItemRow]) -> dict[str, Any]:
    only, which = asked.whole("only", 1, ID_MOST), asked.value("which")
    items = {row.id: row for row in rows if only in (None, row.id)}
    facts = facts_for_labels(session, list(items), desk.public_address)
    by_number = {label.number: label for label in facts}
    shown = [(row, by_number[row.number]) for row in items.values() if row.number in by_number]
    if which in ("passed", "failed", "untested"):
        standing = {"passed": Standing.PASS, "failed": Standing.DO_NOT_USE}.get(which, Standing.NUMBER_ONLY)
        shown = [(row, label) for row, label in shown if label.standing == standing]
    return {
        "items": shown,
        "only": only or "",
        "which": which,
        "whiches": [(value, word) for value, word in WHICH.items() if value],
        "location": asked.value("location"),
        "most": LABELS_MOST,
        **_sheets(session, asked),
        "reach": _reach_of(desk.public_address),
        "address": desk.public_address,
    }


def _sheets(session: Session, asked: Form) -> dict[str, Any]:
    sheets = list_label_sheets(session)
    sheet_id = asked.whole("sheet", 1, ID_MOST)
    chosen = next((row for row in sheets if row.id == sheet_id), sheets[0] if sheets else None)
    return {"sheets": sheets, "sheet": chosen, "grid": _grid(chosen)}


def _grid(sheet: LabelSheetRow | None) -> list[range]:
    """The numbers of the labels on one sheet, row by row; nothing for a roll."""
    if sheet is None or sheet.details.on_one == 1:
        return []
    return [range(first, first + sheet.columns) for first in range(1, sheet.details.on_one + 1, sheet.columns)]


def _reach_of(address: str) -> str:
    """Where a code with this address opens nothing but here; empty for a public name."""
    host = urlsplit(address).hostname or ""
    if host.startswith("127.") or host in ("localhost", "0.0.0.0"):
        return "on this computer alone"
    return "in your own network alone" if host.endswith(".local") or PRIVATE.match(host) else ""


def _numbers(session: Session, asked: Form, customer: CustomerRow) -> dict[str, Any]:
    runs = list_number_runs(session, customer.id)
    run_id = asked.whole("run", 1, ID_MOST)
    return {
        "customer": customer,
        "runs": runs,
        "run": next((row for row in runs if row.id == run_id), None),
        "most": LABELS_MOST,
        **_sheets(session, asked),
    }
