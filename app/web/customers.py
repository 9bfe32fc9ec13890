"""Customers: the list with its search, one customer with what belongs to it, and its details."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.customers import add_customer, change_customer
from app.rules.customers import CustomerDetails, CustomerKind
from app.rules.decisions import DecisionRule
from app.rules.people import Role
from app.rules.rulebooks import RULEBOOKS
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.invoices import count_owed_pence, list_invoices
from app.store.issued_papers import PaperFilter, count_issued_papers, list_issued_papers
from app.store.journal import list_journal
from app.store.judgings import facts_for_judging_on
from app.store.overviews import list_uninvoiced_visits
from app.store.payments import count_held_pence
from app.store.premises import list_premises
from app.store.prices import find_price_agreement
from app.store.quotes import list_quotes
from app.store.registers import (
    count_customers,
    count_premises_of_customers,
    count_registers,
    count_registers_of_customers,
    list_customer_page,
)
from app.store.saved_views import list_saved_views
from app.store.share_links import list_share_links
from app.store.visits import list_visits
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page
from app.web.list_steps import show_place, show_steps
from app.web.papers import show_paper_address

routes = APIRouter()
PAGE = 100
VISITS, PAPERS = 8, 6


@routes.get("/customers")
def list_customers(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    search = asked.text("q")
    start = asked.whole("from", 1, 10**9) or 1
    found = list_customer_page(session, show_place(asked), PAGE, search)
    ids = [row.id for row in found.rows]
    return page(
        request,
        "customers/list.html",
        customers=found.rows,
        search=search,
        first=start,
        total=count_customers(session, search),
        steps=show_steps("/customers", asked, found, start, PAGE),
        premises=count_premises_of_customers(session, ids),
        counts=count_registers_of_customers(session, ids, desk.today),
        views=list_saved_views(session, person.id, "/customers"),
    )


@routes.get("/customers/new")
def new_customer(request: Request) -> Response:
    return page(request, "customers/new.html", form=Form(), choices=_choices())


@routes.post("/customers")
def save_new_customer(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        row = add_customer(deed, _details_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "customers/new.html", sent, wrong, choices=_choices()) from wrong
    return go(f"/customers/{row.id}")


@routes.get("/customers/{customer_id}")
def show_customer(request: Request, session: Reading, desk: TheDesk, person: ThePerson, customer_id: int) -> Response:
    row = get_customer(session, customer_id)
    premises = list_premises(session, row.id)
    return page(
        request,
        "customers/show.html",
        customer=row,
        premises=premises,
        counts=count_registers(session, [place.id for place in premises], desk.today),
        visits=list_visits(session, customer_id=row.id, limit=VISITS),
        today=desk.today,
        judging=facts_for_judging_on(session, row, desk.today),
        office=_office_facts(session, row.id, desk.today) if person.role != Role.TECHNICIAN else None,
    )


@routes.get("/customers/{customer_id}/edit")
def edit_customer(request: Request, session: Reading, customer_id: int) -> Response:
    row = get_customer(session, customer_id)
    form = Form.showing(version=row.version, **vars(row.details))
    return page(request, "customers/edit.html", form=form, customer=row, choices=_choices())


@routes.post("/customers/{customer_id}")
def save_customer(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    row = get_customer(deed.session, customer_id)
    try:
        change_customer(deed, customer_id, _details_from(sent), sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "customers/edit.html", sent, wrong, customer=row, choices=_choices()) from wrong
    return go(f"/customers/{customer_id}")


def _details_from(sent: Form) -> CustomerDetails:
    details = CustomerDetails(
        name=sent.text("name", needed="Give the customer's name."),
        address=sent.lines("address", 400),
        postcode=sent.text("postcode", 20).upper(),
        email=sent.text("email"),
        phone=sent.text("phone", 40),
        vat_number=sent.text("vat_number", 20).upper(),
        dutyholder=sent.text("dutyholder"),
        notes=sent.lines("notes"),
        rulebook_id=_one_of(sent, "rulebook_id"),
        decision_rule=_one_of(sent, "decision_rule"),
        kind=sent.choice("kind", CustomerKind, CustomerKind.BUSINESS),
    )
    sent.done()
    return details


def _choices() -> dict[str, list[tuple[str, str]]]:
    """What a customer can have otherwise than the firm."""
    return {
        "rulebook_id": [(book.id, book.title) for book in RULEBOOKS.values()],
        "decision_rule": [(rule.value, rule.word.capitalize()) for rule in DecisionRule],
        "kind": [(kind.value, kind.word.capitalize()) for kind in CustomerKind],
    }


def _one_of(sent: Form, name: str) -> str:
    """The choice, or nothing for "as the firm"."""
    value = sent.value(name)
    if value and value not in (known for known, _ in _choices()[name]):
        sent.blame(name, "Choose one of these.")
        return ""
    return value


def _office_facts(session: Session, customer_id: int, today: date) -> dict[str, Any]:
    """What only the office and the owner see: money, papers and the journal."""
    papers = PaperFilter(customer_id=customer_id)
    return {
        "prices": find_price_agreement(session, customer_id, today),
        "papers": [(each, show_paper_address(each)) for each in list_issued_papers(session, papers, limit=PAPERS)],
        "papers_in_all": count_issued_papers(session, papers),
        "invoices": [(row, row.state_on(today)) for row in list_invoices(session, customer_id, limit=PAPERS)],
        "owed": count_owed_pence(session, today, customer_id),
        "held_pence": count_held_pence(session, customer_id),
        "uninvoiced": len(list_uninvoiced_visits(session, customer_id, drafted=False)),
        "links": len(list_share_links(session, customer_id=customer_id)),
        "quotes": [(row, row.state_on(today)) for row in list_quotes(session, customer_id, limit=PAPERS)],
        "journal": list_journal(session, "customer", customer_id, limit=PAPERS),
    }
