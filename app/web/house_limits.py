"""House limits: the firm's own, stricter than the rulebook, for everybody or for one customer."""

from datetime import date
from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.house_limits import end_house_limit, set_house_limit
from app.rules.checks import UNITS, Check
from app.rules.equipment import Construction
from app.rules.house_limits import AT_LEAST, LIMITED, HouseLimitDetails
from app.rules.verdicts import Mistakes
from app.store.customers import list_customers
from app.store.house_limits import list_house_limits
from app.web.fields import Form
from app.web.filters import show_check
from app.web.kit import Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()


@routes.get("/house-limits")
def show_house_limits(request: Request, session: Reading, desk: TheDesk) -> Response:
    form = Form({"valid_from": desk.today.isoformat()})
    return page(request, "house_limits/list.html", form=form, **_context(session))


@routes.post("/house-limits")
def save_house_limit(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        set_house_limit(deed, _details_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "house_limits/list.html", sent, wrong, **_context(deed.session)) from wrong
    return go("/house-limits")


@routes.post("/house-limits/{house_limit_id}/end")
def save_end(deed: Doing, house_limit_id: int) -> Response:
    end_house_limit(deed, house_limit_id)
    return go("/house-limits")


def _details_from(sent: Form) -> HouseLimitDetails:
    check, value = sent.choice("check", Check), sent.number("value")
    if check not in LIMITED:
        sent.blame("check", "Choose a check that has one limit.")
    if value is None:
        sent.blame("value", "Give a number.")
    construction = sent.choice("construction", Construction) if sent.value("construction") else None
    details = HouseLimitDetails(
        check=check,
        value=value or Decimal(0),
        reason=sent.text("reason"),
        valid_from=sent.day("valid_from", needed="Give the first day on which it holds.") or date.min,
        customer_id=sent.whole("customer_id", 1, 2**31),
        construction=construction,
    )
    sent.done()
    return details


def _context(session: Session) -> dict[str, Any]:
    return {
        "limits": [(row, row.details) for row in list_house_limits(session)],
        "at_least": AT_LEAST,
        "choices": {
            "check": [(check.value, f"{show_check(check)}, {UNITS[check].symbol}") for check in LIMITED],
            "construction": [(each.value, each.word) for each in Construction],
            "customer_id": [(row.id, row.name) for row in list_customers(session)],
        },
    }
