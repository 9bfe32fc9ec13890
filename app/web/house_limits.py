"""House limits: the firm's own, stricter than the rulebook, for everybody or for one customer."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.house_limits import end_house_limit, set_house_limit
from app.rules.checks import UNITS, Check
from app.rules.equipment import Construction
from app.rules.house_limits import AT_LEAST, LIMITED, Effect, HouseLimitDetails, check_house_limit, list_effects
from app.rules.limit_questions import list_limits_asked
from app.rules.rulebooks import Rulebook
from app.rules.verdicts import Mistakes
from app.store.customers import list_customers
from app.store.house_limits import HouseLimitRow, get_house_limit, list_house_limits
from app.store.judgings import list_rulebooks_in_use
from app.web.fields import Form
from app.web.filters import show_check
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()


@dataclass(frozen=True)
class Chosen:
    """What a new limit would be about, as far as the address or the form says it."""

    check: Check
    construction: Construction | None
    customer_id: int | None


@routes.get("/house-limits")
def show_house_limits(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """The limits that were set; once a check is chosen, what the rulebooks say of it and the form for a limit."""
    form = Form({"valid_from": desk.today.isoformat()} | asked.values)
    context = _context(session, form, desk.today)
    return page(request, "house_limits/list.html", form=form, **context)


@routes.post("/house-limits")
def save_house_limit(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        set_house_limit(deed, _details_from(deed.session, sent))
    except Mistakes as wrong:
        context = _context(deed.session, sent, deed.today)
        raise ask_again(request, "house_limits/list.html", sent, wrong, **context) from wrong
    return go("/house-limits")


@routes.post("/house-limits/{house_limit_id}/end")
def save_end(request: Request, deed: Doing, sent: Sent, house_limit_id: int) -> Response:
    get_house_limit(deed.session, house_limit_id)
    try:
        ends_on = sent.day("ends_on")
        sent.done()
        end_house_limit(deed, house_limit_id, ends_on)
    except Mistakes as wrong:
        context = _context(deed.session, sent, deed.today) | {"ending": house_limit_id}
        raise ask_again(request, "house_limits/list.html", sent, wrong, **context) from wrong
    return go("/house-limits")


def _details_from(session: Session, sent: Form) -> HouseLimitDetails:
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
    if check in LIMITED:
        # Everything that is wrong is said at once; a field that is blamed already keeps its first sentence.
        for name, sentence in check_house_limit(details, list_rulebooks_in_use(session, details.customer_id)).items():
            sent.blame(name, sentence)
    sent.done()
    return details


def _context(session: Session, form: Form, today: date) -> dict[str, Any]:
    search = form.value("q").casefold().split()
    rows = list_house_limits(session)
    shown = [row for row in rows if _holds(row, search)]
    books = {each: list_rulebooks_in_use(session, each) for each in {row.customer_id for row in shown}}
    told = [(row, row.details, _effects(row, books[row.customer_id], today)) for row in shown]
    chosen = _chosen(form)
    return {
        "limits": told,
        "any_limits": bool(rows),
        "search": form.value("q"),
        "today": today,
        "ending": 0,
        "at_least": AT_LEAST,
        "chosen": chosen,
        "unit": UNITS[chosen.check].symbol if chosen else "",
        "said": _said(session, chosen) if chosen else [],
        "choices": {
            "check": [(check.value, show_check(check)) for check in LIMITED],
            "construction": [(each.value, each.word) for each in Construction],
            "customer_id": [(row.id, row.name) for row in list_customers(session)],
        },
    }


def _chosen(form: Form) -> Chosen | None:
    if form.value("check") not in LIMITED:
        return None
    construction, customer = form.value("construction"), form.value("customer_id")
    return Chosen(
        Check(form.value("check")),
        Construction(construction) if construction in set(Construction) else None,
        int(customer) if customer.isdecimal() and len(customer) < 10 else None,
    )


def _said(session: Session, chosen: Chosen) -> list[tuple[str, list[tuple[str, str]]]]:
    """What each rulebook in use says of the check: its title, and for each usual item its limit in words."""
    return [
        (
            book.title,
            [
                (question.words, limit.text)
                for question, limit in list_limits_asked(chosen.check, book, chosen.construction)
            ],
        )
        for book in list_rulebooks_in_use(session, chosen.customer_id)
    ]


def _effects(row: HouseLimitRow, rulebooks: list[Rulebook], today: date) -> tuple[Effect, ...]:
    """For what a limit matters under the rulebooks in use; nothing for one that has ended."""
    if row.ended_on is not None and row.ended_on <= today:
        return ()
    return list_effects(row.details, rulebooks)


def _holds(row: HouseLimitRow, words: list[str]) -> bool:
    name = row.customer.name if row.customer else "every customer"
    text = f"{row.details.limit.words} {name} {row.reason}".casefold()
    return all(word in text for word in words)
