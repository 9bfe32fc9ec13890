"""Asking for a paper: a register or the open defects of a customer or premises, or a paper on a single item."""

from collections.abc import Callable
from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.item_certificates import issue_item_certificate
from app.actions.papers import issue_defect_list, issue_item_history, issue_register
from app.rules.papers import PaperKind, Purpose
from app.rules.verdicts import Mistakes, Verdict
from app.rules.visits import VisitState
from app.store.customers import get_customer
from app.store.items import ItemRow, get_item
from app.store.premises import get_premises
from app.store.readings import list_item_history
from app.web.drawings import PATIENCE_SECONDS
from app.web.fields import Form
from app.web.filters import show_date
from app.web.kit import Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()

_ISSUES: dict[PaperKind, Callable[..., int]] = {
    PaperKind.REGISTER: issue_register,
    PaperKind.DEFECT_LIST: issue_defect_list,
}
_KINDS = [
    (PaperKind.REGISTER.value, "Register: every item in service, its last test and its next"),
    (PaperKind.DEFECT_LIST.value, "Open defects: what is wrong, what puts it right, who must act"),
]
_OF_ITEM = [
    (PaperKind.ITEM_CERTIFICATE.value, "Certificate of one test"),
    (PaperKind.ITEM_HISTORY.value, "History: every test, and the readings drawn against their limits"),
]
_PURPOSES = [(purpose.value, purpose.word.capitalize()) for purpose in Purpose]


@routes.get("/customers/{customer_id}/papers/new")
def new_customer_paper(request: Request, session: Reading, desk: TheDesk, customer_id: int) -> Response:
    form = Form.showing(kind=PaperKind.REGISTER, as_at=desk.today)
    return page(request, "papers/new.html", form=form, **_customer(session, customer_id))


@routes.post("/customers/{customer_id}/papers")
def save_customer_paper(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, customer_id: int
) -> Response:
    try:
        issue, as_at = _wish_from(sent, desk)
    except Mistakes as wrong:
        raise ask_again(request, "papers/new.html", sent, wrong, **_customer(session, customer_id)) from wrong
    return go(f"/papers/{issue(desk, person, customer_id, None, as_at, PATIENCE_SECONDS)}")


@routes.get("/premises/{premises_id}/papers/new")
def new_premises_paper(request: Request, session: Reading, desk: TheDesk, premises_id: int) -> Response:
    form = Form.showing(kind=PaperKind.REGISTER, as_at=desk.today)
    return page(request, "papers/new.html", form=form, **_premises(session, premises_id))


@routes.post("/premises/{premises_id}/papers")
def save_premises_paper(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, premises_id: int
) -> Response:
    place = get_premises(session, premises_id)
    try:
        issue, as_at = _wish_from(sent, desk)
    except Mistakes as wrong:
        raise ask_again(request, "papers/new.html", sent, wrong, **_premises(session, premises_id)) from wrong
    return go(f"/papers/{issue(desk, person, place.customer_id, place.id, as_at, PATIENCE_SECONDS)}")


@routes.get("/items/{item_id}/papers/new")
def new_item_paper(request: Request, session: Reading, item_id: int) -> Response:
    row = get_item(session, item_id)
    tests = _tests(session, row)
    form = Form.showing(
        kind=PaperKind.ITEM_CERTIFICATE if tests else PaperKind.ITEM_HISTORY,
        purpose=Purpose.RECORD,
        visit_id=tests[0][0] if tests else "",
    )
    return page(request, "papers/new_item.html", form=form, **_item(row, tests))


@routes.post("/items/{item_id}/papers")
def save_item_paper(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, item_id: int
) -> Response:
    row = get_item(session, item_id)
    try:
        kind = _kind_from(sent, [kind for kind, _ in _OF_ITEM])
        purpose = sent.choice("purpose", Purpose, Purpose.RECORD)
        visit_id = sent.whole("visit_id", 1, 2**31 - 1)
        sent.done()
    except Mistakes as wrong:
        raise ask_again(request, "papers/new_item.html", sent, wrong, **_item(row, _tests(session, row))) from wrong
    if kind == PaperKind.ITEM_HISTORY:
        return go(f"/papers/{issue_item_history(desk, person, item_id)}")
    return go(f"/papers/{issue_item_certificate(desk, person, item_id, purpose, visit_id)}")


def _wish_from(sent: Form, desk: Desk) -> tuple[Callable[..., int], date]:
    kind = _kind_from(sent, [kind for kind, _ in _KINDS])
    as_at = sent.day("as_at") or desk.today
    if as_at > desk.today:
        sent.blame("as_at", "A paper shows what is known on its day; this one is still to come.")
    sent.done()
    return _ISSUES[kind], as_at


def _kind_from(sent: Form, known: list[str]) -> PaperKind:
    """One of the kinds on the form; a kind that stands elsewhere is a mistake."""
    if sent.value("kind") not in known:
        sent.blame("kind", "Choose which paper.")
        return PaperKind(known[0])
    return PaperKind(sent.value("kind"))


def _customer(session: Session, customer_id: int) -> dict[str, Any]:
    row = get_customer(session, customer_id)
    crumbs = [("Customers", "/customers"), (row.name, f"/customers/{row.id}")]
    return _place(crumbs, f"/customers/{row.id}", f"All premises of {row.name}")


def _premises(session: Session, premises_id: int) -> dict[str, Any]:
    row = get_premises(session, premises_id)
    crumbs = [(row.customer.name, f"/customers/{row.customer_id}"), (row.name, f"/premises/{row.id}")]
    return _place(crumbs, f"/premises/{row.id}", f"{row.name}, {row.customer.name}") | {
        "elsewhere": f"/customers/{row.customer_id}/papers/new"
    }


def _place(crumbs: list[tuple[str, str]], here: str, about: str) -> dict[str, Any]:
    return {"crumbs": crumbs, "here": here, "about": about, "kinds": _KINDS, "elsewhere": ""}


def _item(row: ItemRow, tests: list[tuple[int, str]]) -> dict[str, Any]:
    return {"item": row, "tests": tests, "kinds": _OF_ITEM if tests else _OF_ITEM[1:], "purposes": _PURPOSES}


def _tests(session: Session, row: ItemRow) -> list[tuple[int, str]]:
    """The tests that a certificate can be of, newest first: the visit, and day and verdict in words."""
    found = [test for test in list_item_history(session, row.id) if test.visit.state == VisitState.FINISHED]
    return [
        (test.visit_id, f"{show_date(test.tested_on)}: {Verdict(test.verdict).word}")
        for test in found
        if test.tested_on and test.verdict and test.verdict != "incomplete" and not test.not_tested
    ]
