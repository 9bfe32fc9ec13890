"""Prices: the firm's own list, and what is agreed with one customer, each from a day on, with what held before."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.prices import agree_prices, drop_prices
from app.rules.equipment import Kind
from app.rules.verdicts import Mistakes
from app.store.customers import CustomerRow, get_customer
from app.store.prices import PriceAgreementRow, find_price_agreement, list_price_agreements
from app.web.fields import Form
from app.web.filters import show_money
from app.web.kit import Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()


@routes.get("/prices")
def show_prices(request: Request, session: Reading, desk: TheDesk) -> Response:
    return page(request, "prices/show.html", **_shown(session, None, desk.today))


@routes.post("/prices")
def save_prices(request: Request, deed: Doing, sent: Sent) -> Response:
    return _save(request, deed, sent, None)


@routes.post("/prices/{agreement_id}/remove")
def remove_prices(deed: Doing, agreement_id: int) -> Response:
    drop_prices(deed, agreement_id, None)
    return go("/prices")


@routes.get("/customers/{customer_id}/prices")
def show_customer_prices(request: Request, session: Reading, desk: TheDesk, customer_id: int) -> Response:
    return page(request, "prices/show.html", **_shown(session, get_customer(session, customer_id), desk.today))


@routes.post("/customers/{customer_id}/prices")
def save_customer_prices(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    return _save(request, deed, sent, get_customer(deed.session, customer_id))


@routes.post("/customers/{customer_id}/prices/{agreement_id}/remove")
def remove_customer_prices(deed: Doing, customer_id: int, agreement_id: int) -> Response:
    drop_prices(deed, agreement_id, customer_id)
    return go(f"/customers/{customer_id}/prices")


def _save(request: Request, deed: Doing, sent: Sent, customer: CustomerRow | None) -> Response:
    try:
        valid_from = sent.day("valid_from", needed="Say from which day these prices hold.")
        if not sent.value("item").strip():
            sent.blame("item", "Give the price of one item; 0 when items cost nothing.")
        amounts = {name: sent.pence(name) for name in ("item", "call_out", "minimum")}
        kinds = {kind: sent.pence(f"kind_{kind}") for kind in Kind if sent.value(f"kind_{kind}").strip()}
        sent.done()
        agree_prices(
            deed,
            customer.id if customer else None,
            valid_from or deed.today,
            amounts["item"],
            amounts["call_out"],
            amounts["minimum"],
            kinds,
        )
    except Mistakes as wrong:
        context = _shown(deed.session, customer, deed.today) | {"form": sent}
        raise ask_again(request, "prices/show.html", context.pop("form"), wrong, **context) from wrong
    return go(f"/customers/{customer.id}/prices" if customer else "/prices")


def _shown(session: Session, customer: CustomerRow | None, today: date) -> dict[str, Any]:
    customer_id = customer.id if customer else None
    now = find_price_agreement(session, customer_id, today)
    return {
        "customer": customer,
        "here": f"/customers/{customer_id}/prices" if customer else "/prices",
        "now": now,
        "agreements": list_price_agreements(session, customer_id),
        "kinds": list(Kind),
        "words": {kind.value: kind.word for kind in Kind},
        "today": today,
        "form": _form_of(now, today),
    }


def _form_of(row: PriceAgreementRow | None, today: date) -> Form:
    """The prices that hold, as a start for the next ones."""
    if row is None:
        return Form.showing(valid_from=today)
    values = {f"kind_{price.kind}": _typed(price.pence) for price in row.kinds}
    optional = {"call_out": row.call_out_pence, "minimum": row.minimum_pence}
    values |= {name: _typed(pence) if pence else "" for name, pence in optional.items()}
    return Form.showing(valid_from=today, item=_typed(row.item_pence), **values)


def _typed(pence: int) -> str:
    return show_money(pence).removeprefix("£").replace(",", "")
