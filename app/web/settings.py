"""The firm's details, its logo and what its visits are judged by, and the ways to prices, people and journal."""

from base64 import b64encode
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.firms import change_firm, change_logo, choose_judging
from app.rules.decisions import DecisionRule
from app.rules.judging import Judging, describe_decision_rule
from app.rules.rulebooks import RULEBOOKS
from app.rules.verdicts import Mistakes
from app.store.firms import FirmRow, get_firm
from app.store.house_limits import list_house_limits
from app.store.instruments import list_instruments
from app.store.judgings import facts_of_rulebook
from app.store.people import list_people
from app.web.fields import Form
from app.web.firm_fields import list_firm_choices, new_firm_details, show_firm_fields
from app.web.kit import AskAgain, Asked, Doing, Reading, Sent, ask_again, go, page

routes = APIRouter()

SAVED = {
    "details": "The firm's details are saved. Papers already issued keep what they say.",
    "judging": "Saved. Visits started from now on are judged by it; those that have begun keep theirs.",
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
        details = new_firm_details(sent, firm.details)
        change_firm(deed, details, sent.version())
        sent.done()
    except Mistakes as wrong:
        raise ask_again(request, "settings/show.html", sent, wrong, saved="", **_context(deed.session, firm)) from wrong
    return go("/settings?saved=details")


@routes.get("/settings/judging")
def show_judging(request: Request, session: Reading, asked: Asked) -> Response:
    """What visits are judged by, each choice with what it means."""
    firm = get_firm(session)
    form = Form.showing(
        rulebook_id=firm.rulebook_id,
        decision_rule=firm.decision_rule,
        dielectric_by_id=firm.dielectric_by_id,
        version=firm.version,
    )
    saved = SAVED.get(asked.value("saved"), "")
    return page(request, "settings/judging.html", form=form, saved=saved, **_judging_context(session, firm))


@routes.post("/settings/judging")
def save_judging(request: Request, deed: Doing, sent: Sent) -> Response:
    firm = get_firm(deed.session)
    try:
        rule, competent = sent.choice("decision_rule", DecisionRule), sent.whole("dielectric_by_id", 1, 2**31 - 1)
        if sent.value("rulebook_id") not in RULEBOOKS:
            sent.blame("rulebook_id", "Choose one of these.")
        sent.done()
        choose_judging(deed, sent.value("rulebook_id"), rule, competent, sent.version())
    except Mistakes as wrong:
        context = _judging_context(deed.session, firm)
        raise ask_again(request, "settings/judging.html", sent, wrong, saved="", **context) from wrong
    return go("/settings/judging?saved=judging")


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
    judged_by = Judging(facts_of_rulebook(session, firm.rulebook_id), DecisionRule(firm.decision_rule))
    return {"choices": list_firm_choices(), "judging": judged_by, "logo": logo, "logo_form": Form()}


def _judging_context(session: Session, firm: FirmRow) -> dict[str, Any]:
    book = facts_of_rulebook(session, firm.rulebook_id)
    unranged = [row for row in list_instruments(session) if row.active and not row.ranges]
    limits = [row for row in list_house_limits(session) if row.ended_on is None]
    return {
        "rulebooks": RULEBOOKS.values(),
        "rules": [(rule, describe_decision_rule(Judging(book, rule))) for rule in DecisionRule],
        "competent": [
            (row.id, row.name) for row in list_people(session) if row.active or row.id == firm.dielectric_by_id
        ],
        "unranged": unranged,
        "house_limits": len(limits),
    }
