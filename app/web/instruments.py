"""Instruments: which may be used today and until when, and the page of one with all that is on record for it."""

from typing import Any

from fastapi import APIRouter, Request, Response

from app.actions.instruments import add_instrument, change_instrument
from app.rules.instruments import InstrumentDetails
from app.rules.verdicts import Mistakes
from app.store.instruments import InstrumentRow, get_instrument, list_instruments
from app.store.reference_checks import facts_of_standings, list_failing_ids
from app.web.fields import Form
from app.web.instrument_pages import show_instrument_whole
from app.web.instrument_states import show_state
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()


@routes.get("/instruments")
def list_all_instruments(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    search = asked.text("q")
    rows = [row for row in list_instruments(session) if _holds(row, search)]
    standings = facts_of_standings(session, rows)
    shown = [(row, show_state(row, standings[row.id], desk.today)) for row in rows]
    failing = bool(list_failing_ids(session))
    return page(request, "instruments/list.html", instruments=shown, search=search, failing=failing)


@routes.get("/instruments/new")
def new_instrument(request: Request) -> Response:
    return page(request, "instruments/new.html", form=Form())


@routes.post("/instruments")
def save_new_instrument(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        row = add_instrument(deed, _details_from(sent, active=True))
    except Mistakes as wrong:
        raise ask_again(request, "instruments/new.html", sent, wrong) from wrong
    return go(f"/instruments/{row.id}")


@routes.get("/instruments/{instrument_id}")
def show_instrument(request: Request, session: Reading, desk: TheDesk, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    whole: dict[str, Any] = show_instrument_whole(session, row, desk.today)
    return page(request, "instruments/show.html", form=Form(), **whole)


@routes.get("/instruments/{instrument_id}/edit")
def edit_instrument(request: Request, session: Reading, instrument_id: int) -> Response:
    row = get_instrument(session, instrument_id)
    form = Form.showing(version=row.version, **vars(row.details))
    return page(request, "instruments/edit.html", form=form, instrument=row)


@routes.post("/instruments/{instrument_id}")
def save_instrument(request: Request, deed: Doing, sent: Sent, instrument_id: int) -> Response:
    row = get_instrument(deed.session, instrument_id)
    try:
        change_instrument(deed, instrument_id, _details_from(sent, sent.tick("active")), sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "instruments/edit.html", sent, wrong, instrument=row) from wrong
    return go(f"/instruments/{instrument_id}")


def _details_from(sent: Form, active: bool) -> InstrumentDetails:
    details = InstrumentDetails(
        name=sent.text("name", 80, needed="Give the instrument a name that people here know it by."),
        serial=sent.text("serial", 80, needed="Give the serial number; the certificate must identify the instrument."),
        make=sent.text("make"),
        model=sent.text("model"),
        notes=sent.lines("notes"),
        active=active,
    )
    sent.done()
    return details


def _holds(row: InstrumentRow, search: str) -> bool:
    words = f"{row.name} {row.serial} {row.make} {row.model}".casefold()
    return all(word in words for word in search.casefold().split())
