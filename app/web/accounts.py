"""A customer's account: what is owed and held, the statement between two days as page and PDF, and who owes what."""

from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.statements import draw_statement
from app.rules.file_names import suggest_file_name
from app.rules.payments import Method
from app.rules.statements import Age, Movement, total_ageing, total_statement
from app.store.accounts import list_account_entries, list_aged_accounts, list_debts
from app.store.customers import get_customer
from app.store.invoices import list_open_invoices
from app.store.payments import count_held_pence, list_payments
from app.store.reminders import list_reminders
from app.web.fields import Form
from app.web.kit import Asked, Reading, TheDesk, page, pdf

routes = APIRouter()
METHODS = [(method.value, method.word.capitalize()) for method in Method]
USUAL_DAYS = 365


@routes.get("/customers/{customer_id}/account")
def show_account(request: Request, session: Reading, desk: TheDesk, customer_id: int) -> Response:
    return page(request, "accounts/show.html", form=Form(), **show_on_account(session, desk, customer_id))


@routes.get("/customers/{customer_id}/statement")
def show_statement(request: Request, session: Reading, desk: TheDesk, asked: Asked, customer_id: int) -> Response:
    starts_on, ends_on = show_period(asked, desk.today)
    told = total_statement(
        list_account_entries(session, customer_id), list_debts(session, customer_id), starts_on, ends_on
    )
    form = Form.showing(start=starts_on, end=ends_on)
    form.mistakes = asked.mistakes
    return page(
        request,
        "accounts/statement.html",
        status=422 if asked.mistakes else 200,
        customer=get_customer(session, customer_id),
        statement=told,
        form=form,
        ages=list(Age),
        movements=Movement,
        today=desk.today,
    )


@routes.get("/customers/{customer_id}/statement.pdf")
def download_statement(session: Reading, desk: TheDesk, asked: Asked, customer_id: int) -> Response:
    starts_on, ends_on = show_period(asked, desk.today)
    name = suggest_file_name("statement", "", get_customer(session, customer_id).name, ends_on)
    return pdf(draw_statement(desk, customer_id, starts_on, ends_on), name)


@routes.get("/ageing")
def show_ageing(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    day = asked.day("day") or desk.today
    accounts = list_aged_accounts(session, day)
    sums = {age: sum(each.ageing.by_age[age] for each in accounts) for age in Age}
    return page(
        request,
        "accounts/ageing.html",
        accounts=accounts,
        ages=list(Age),
        sums=sums,
        owed_pence=sum(each.ageing.owed_pence for each in accounts),
        overdue_pence=sum(each.ageing.overdue_pence for each in accounts),
        held_pence=sum(each.ageing.held_pence for each in accounts),
        day=day,
        today=desk.today,
    )


def show_on_account(session: Session, desk: TheDesk, customer_id: int) -> dict[str, Any]:
    """What the page of an account shows; also where a form on it comes back."""
    customer = get_customer(session, customer_id)
    ageing = total_ageing(list_account_entries(session, customer_id), list_debts(session, customer_id), desk.today)
    usual = {"paid_on": desk.today, "method": Method.BANK_TRANSFER.value}
    return {
        "customer": customer,
        "ageing": ageing,
        "ages": list(Age),
        "invoices": list_open_invoices(session, customer_id),
        "payments": list_payments(session, customer_id),
        "held_pence": count_held_pence(session, customer_id),
        "reminders": list_reminders(session, customer_id),
        "methods": METHODS,
        "match_form": Form(),
        "refund_form": Form.showing(**usual),
        "today": desk.today,
    }


def show_period(asked: Form, today: date) -> tuple[date, date]:
    """The days in the fields start and end, else the year up to today; the wrong way round is put right with a word."""
    ends_on = asked.day("end") or today
    starts_on = asked.day("start") or min(ends_on, today) - timedelta(days=USUAL_DAYS)
    if starts_on > ends_on:
        asked.blame("start", "The first day lies after the last. A year up to the last day is shown.")
        starts_on = ends_on - timedelta(days=USUAL_DAYS)
    return starts_on, ends_on
