"""The first page of all: the firm and its owner, once, by whoever can read the terminal that Ohmstead runs in."""

from typing import Any

from fastapi import APIRouter, Request, Response

from app.actions.firms import set_up_firm
from app.actions.people import enter_set_up_code, sign_in
from app.actions.signing_keys import make_signing_key
from app.rules.firms import FirmDetails, LegalForm
from app.rules.people import PASSWORD_LEAST, PersonDetails, Role
from app.rules.verdicts import Mistakes
from app.web.fields import Form
from app.web.firm_fields import list_firm_choices, new_firm_details, show_firm_fields
from app.web.kit import Sent, TheDesk, ask_again, go, keep_session, page, with_form_token

routes = APIRouter()

USUAL = FirmDetails("", "", LegalForm.SOLE_TRADER, "", "")


@routes.get("/set-up")
def show_set_up(request: Request) -> Response:
    if request.state.firm is not None:
        return go("/")
    if not request.app.state.set_up_code:
        return page(request, "set_up/closed.html")
    form = Form(show_firm_fields(USUAL))
    return with_form_token(request, "set_up/show.html", form=form, **_context(form))


@routes.post("/set-up")
def save_set_up(request: Request, desk: TheDesk, sent: Sent) -> Response:
    if request.state.firm is not None:
        return go("/")
    address = request.client.host if request.client else ""
    try:
        # Its own transaction: a wrong code is remembered, although the answer is a 422.
        with desk.doing(None) as deed:
            right = enter_set_up_code(deed, sent.value("code"), request.app.state.set_up_code, address)
        if not right:
            raise Mistakes({"code": "This is not the code that the terminal shows."})
        firm = new_firm_details(sent)
        owner = PersonDetails(
            sent.text("owner_name"), sent.text("owner_email"), Role.OWNER, sent.text("owner_initials")
        )
        password = sent.value("owner_password")
        if password != sent.value("owner_password_again"):
            sent.blame("owner_password_again", "This is not the same as the password above.")
        with desk.doing(None) as deed:
            set_up_firm(deed, firm, owner, password, sent.files.get("logo", b""))
            sent.done()
            token = sign_in(deed, owner.email, password)
        make_signing_key(desk)
    except Mistakes as wrong:
        raise ask_again(request, "set_up/show.html", sent, wrong, **_context(sent)) from wrong
    response = go("/")
    if token is not None:
        keep_session(request, response, token)
    return response


def _context(form: Form) -> dict[str, Any]:
    return {"choices": list_firm_choices(), "least": PASSWORD_LEAST, "logo_lost": "logo" in form.files}
