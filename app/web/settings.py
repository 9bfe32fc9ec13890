"""The firm's details, its logo and its rulebook, and the ways to prices, people and journal."""

from base64 import b64encode
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.firms import change_firm, change_logo
from app.rules.verdicts import Mistakes
from app.store.firms import FirmRow, get_firm
from app.store.people import list_people
from app.web.fields import Form
from app.web.firm_fields import list_firm_choices, new_firm_details, show_firm_fields
from app.web.kit import AskAgain, Asked, Doing, Reading, Sent, ask_again, go, page

routes = APIRouter()

SAVED = {
    "details": "The firm's details are saved. Papers already issued keep what they say.",
    "logo": "The logo is saved. Papers issued from now on carry it.",
    "no-logo": "The logo is removed. Papers already issued keep it.",
}


@routes.get("/settings")
def show_settings(request: Request, session: Reading, asked: Asked) -> Response:
    firm = get_firm(session)
    saved = SAVED.get(asked.value("saved"), "")
    return page(request, "settings/show.html", form=_form_of(firm), saved=saved, **_context(session, firm))


@routes.post("/settings")
def save_settings(request: Request, deed: Doing, sent: Sent) -> Response:
    firm = get_firm(deed.session)
    try:
        details = new_firm_details(sent)
        change_firm(deed, details, sent.version())
        sent.done()
    except Mistakes as wrong:
        raise ask_again(request, "settings/show.html", sent, wrong, saved="", **_context(deed.session, firm)) from wrong
    return go("/settings?saved=details")


@routes.post("/settings/logo")
def save_logo(request: Request, deed: Doing, sent: Sent) -> Response:
    firm = get_firm(deed.session)
    image = None if sent.tick("remove") else sent.files.get("logo")
    try:
        if image is None and not sent.tick("remove"):
            raise Mistakes({"logo": "Choose a picture first."})
        change_logo(deed, image)
    except Mistakes as wrong:
        context = _context(deed.session, firm) | {"logo_form": sent}
        sent.mistakes |= wrong.messages
        again = page(request, "settings/show.html", status=422, form=_form_of(firm), saved="", **context)
        raise AskAgain(again) from wrong
    return go("/settings?saved=logo" if image else "/settings?saved=no-logo")


def _form_of(firm: FirmRow) -> Form:
    return Form(show_firm_fields(firm.details) | {"version": str(firm.version)})


def _context(session: Session, firm: FirmRow) -> dict[str, Any]:
    logo = f"data:image/png;base64,{b64encode(firm.logo_png).decode()}" if firm.logo_png else ""
    competent = [(row.id, row.name) for row in list_people(session) if row.active or row.id == firm.dielectric_by_id]
    return {"choices": list_firm_choices(), "competent": competent, "logo": logo, "logo_form": Form()}
