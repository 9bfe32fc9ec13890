"""Prices: the firm's own list, and what is agreed with one customer, each from a day on, with what held before."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.prices import agree_prices, drop_prices, end_prices
from app.rules.equipment import Kind
from app.rules.verdicts import Mistakes
from app.store.customers import CustomerRow, get_customer
from app.store.prices import find_price_agreement, list_price_agreements
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page
from app.web.price_fields import (
    list_at_places,
    list_price_choices,
    list_price_places,
    new_prices,
    show_example,
    show_prices_form,
)

routes = APIRouter()


@routes.get("/prices")
def show_prices(request: Request, session: Reading, desk: TheDesk) -> Response:
    return page(request, "prices/show.html", **_shown(session, None, desk.today))


@routes.get("/prices/parts/example")
def part_example(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """What so many items would cost at the prices as they are typed."""
    return page(request, "prices/_example.html", here="/prices", example=show_example(session, asked, desk.today))


@routes.post("/prices")
def save_prices(request: Request, deed: Doing, sent: Sent) -> Response:
    return _save(request, deed, sent, None)


@routes.post("/prices/{agreement_id}/remove")
def remove_prices(deed: Doing, agreement_id: int) -> Response:
    drop_prices(deed, agreement_id, None)
    return go("/prices")


@routes.post("/prices/{agreement_id}/end")
def save_end(request: Request, deed: Doing, sent: Sent, agreement_id: int) -> Response:
    return _end(request, deed, sent, agreement_id, None)


@routes.get("/customers/{customer_id}/prices")
def show_customer_prices(request: Request, session: Reading, desk: TheDesk, customer_id: int) -> Response:
    return page(request, "prices/show.html", **_shown(session, get_customer(session, customer_id), desk.today))


@routes.get("/customers/{customer_id}/prices/parts/example")
def part_customer_example(
    request: Request, session: Reading, desk: TheDesk, asked: Asked, customer_id: int
) -> Response:
    here = f"/customers/{get_customer(session, customer_id).id}/prices"
    return page(request, "prices/_example.html", here=here, example=show_example(session, asked, desk.today))


@routes.post("/customers/{customer_id}/prices")
def save_customer_prices(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    return _save(request, deed, sent, get_customer(deed.session, customer_id))


@routes.post("/customers/{customer_id}/prices/{agreement_id}/remove")
def remove_customer_prices(deed: Doing, customer_id: int, agreement_id: int) -> Response:
    drop_prices(deed, agreement_id, customer_id)
    return go(f"/customers/{customer_id}/prices")


@routes.post("/customers/{customer_id}/prices/{agreement_id}/end")
def save_customer_end(request: Request, deed: Doing, sent: Sent, customer_id: int, agreement_id: int) -> Response:
    return _end(request, deed, sent, agreement_id, get_customer(deed.session, customer_id))


def _end(request: Request, deed: Doing, sent: Sent, agreement_id: int, customer: CustomerRow | None) -> Response:
    try:
        last_day = sent.day("last_day", needed="Say which is the last day of these prices.")
        sent.done()
        end_prices(deed, agreement_id, customer.id if customer else None, last_day or deed.today)
    except Mistakes as wrong:
        context = _shown(deed.session, customer, deed.today) | {"ending": agreement_id}
        form = context.pop("form")
        form.values |= {"last_day": sent.value("last_day")}
        raise ask_again(request, "prices/show.html", form, wrong, **context) from wrong
    return go(f"/customers/{customer.id}/prices" if customer else "/prices")


def _save(request: Request, deed: Doing, sent: Sent, customer: CustomerRow | None) -> Response:
    places: dict[str, list[int]] = {}
    try:
        details, places = new_prices(sent, deed.today)
        sent.done()
        agree_prices(
            deed,
            customer.id if customer else None,
            details.valid_from,
            details.item_pence,
            details.call_out_pence,
            details.minimum_pence,
            dict(details.kinds),
            details.more,
        )
    except Mistakes as wrong:
        here = Mistakes(list_at_places(wrong.messages, places))
        context = _shown(deed.session, customer, deed.today, sent)
        raise ask_again(request, "prices/show.html", context.pop("form"), here, **context) from wrong
    return go(f"/customers/{customer.id}/prices" if customer else "/prices")


def _shown(session: Session, customer: CustomerRow | None, today: date, form: Form | None = None) -> dict[str, Any]:
    customer_id = customer.id if customer else None
    now = find_price_agreement(session, customer_id, today)
    form = form or show_prices_form(now, today)
    return {
        "customer": customer,
        "here": f"/customers/{customer_id}/prices" if customer else "/prices",
        "now": now,
        "agreements": list_price_agreements(session, customer_id),
        "kinds": list(Kind),
        "words": {kind.value: kind.word for kind in Kind},
        "today": today,
        "form": form,
        "choices": list_price_choices(session),
        "places": list_price_places(form),
        "example": show_example(session, form, today),
        "ending": 0,
    }
