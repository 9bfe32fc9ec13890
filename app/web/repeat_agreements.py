"""Repeat agreements: the list, agreeing on one for premises, its page with its visits, changing and ending it."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.repeat_agreements import agree_repeat, change_repeat, end_repeat
from app.rules.paces import MINUTES_LEAST, MINUTES_MOST
from app.rules.prices import parse_agreement
from app.rules.repeats import EVERY_MOST, Repeat
from app.rules.verdicts import Mistakes
from app.store.people import list_technicians
from app.store.premises import get_premises
from app.store.wanted_visits import (
    RepeatAgreementRow,
    get_repeat_agreement,
    list_repeat_agreements,
    list_wanted_of,
)
from app.web.fields import Form
from app.web.kit import AskAgain, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()


@routes.get("/repeat-agreements")
def list_repeats(request: Request, session: Reading, desk: TheDesk) -> Response:
    rows = list_repeat_agreements(session)
    return page(request, "repeat_agreements/list.html", agreements=rows, today=desk.today)


@routes.get("/premises/{premises_id}/repeat-agreements/new")
def new_repeat(request: Request, session: Reading, desk: TheDesk, premises_id: int) -> Response:
    form = Form.showing(first_on=desk.today, every_months=12, keep_prices=True)
    premises = get_premises(session, premises_id)
    return page(request, "repeat_agreements/new.html", form=form, premises=premises, **_choices(session))


@routes.post("/premises/{premises_id}/repeat-agreements")
def save_new_repeat(request: Request, deed: Doing, sent: Sent, premises_id: int) -> Response:
    premises = get_premises(deed.session, premises_id)
    try:
        row = agree_repeat(deed, premises.id, _repeat_from(sent), sent.tick("keep_prices"))
    except Mistakes as wrong:
        context = {"premises": premises, **_choices(deed.session)}
        raise ask_again(request, "repeat_agreements/new.html", sent, wrong, **context) from wrong
    return go(f"/repeat-agreements/{row.id}")


@routes.get("/repeat-agreements/{repeat_id}")
def show_repeat(request: Request, session: Reading, desk: TheDesk, repeat_id: int) -> Response:
    return page(
        request, "repeat_agreements/show.html", form=Form.showing(last_day=desk.today), **_context(session, repeat_id)
    )


@routes.get("/repeat-agreements/{repeat_id}/change")
def edit_repeat(request: Request, session: Reading, desk: TheDesk, repeat_id: int) -> Response:
    row = get_repeat_agreement(session, repeat_id)
    if row.ends_on is not None:
        return go(f"/repeat-agreements/{row.id}")
    coming = [each.wanted_on for each in list_wanted_of(session, row.id) if each.wanted_on and not each.visit_id]
    first = next((day for day in coming if day >= desk.today), desk.today)
    form = Form.showing(**vars(row.details) | {"first_on": first, "keep_prices": True, "version": row.version})
    return page(request, "repeat_agreements/change.html", form=form, agreement=row, **_choices(session))


@routes.post("/repeat-agreements/{repeat_id}/change")
def save_change(request: Request, deed: Doing, sent: Sent, repeat_id: int) -> Response:
    try:
        new = change_repeat(deed, repeat_id, _repeat_from(sent), sent.tick("keep_prices"), sent.version())
    except Mistakes as wrong:
        row = get_repeat_agreement(deed.session, repeat_id)
        context = {"agreement": row, **_choices(deed.session)}
        raise ask_again(request, "repeat_agreements/change.html", sent, wrong, **context) from wrong
    return go(f"/repeat-agreements/{new.id}")


@routes.post("/repeat-agreements/{repeat_id}/end")
def save_end(request: Request, deed: Doing, sent: Sent, repeat_id: int) -> Response:
    try:
        last_day = sent.day("last_day", needed="Give the last day.")
        reason = sent.text("reason", most=500)
        sent.done()
        end_repeat(deed, repeat_id, last_day or deed.today, reason, sent.version())
    except Mistakes as wrong:
        raise _again(request, deed.session, sent, wrong, repeat_id) from wrong
    return go(f"/repeat-agreements/{repeat_id}")


def _repeat_from(sent: Form) -> Repeat:
    first_on = sent.day("first_on", needed="Give the day of the first visit.")
    every = sent.whole("every_months", 1, EVERY_MOST)
    if every is None:
        sent.blame("every_months", f"Give months from 1 to {EVERY_MOST}.")
    ends_on = sent.day("ends_on")
    technician_id = sent.whole("technician_id", 1, 2**31 - 1)
    minutes = sent.whole("minutes", MINUTES_LEAST, MINUTES_MOST)
    note = sent.lines("note")
    sent.done()
    assert first_on is not None and every is not None
    return Repeat(first_on, every, ends_on, technician_id, minutes, note)


def _choices(session: Session) -> dict[str, Any]:
    return {"technicians": [(row.id, row.name) for row in list_technicians(session)]}


def _context(session: Session, repeat_id: int) -> dict[str, Any]:
    row: RepeatAgreementRow = get_repeat_agreement(session, repeat_id)
    return {
        "agreement": row,
        "wanted": list_wanted_of(session, row.id),
        "prices": parse_agreement(row.prices) if row.prices is not None else None,
    }


def _again(request: Request, session: Session, sent: Form, wrong: Mistakes, repeat_id: int) -> AskAgain:
    return ask_again(request, "repeat_agreements/show.html", sent, wrong, **_context(session, repeat_id))
