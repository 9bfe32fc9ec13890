"""Changing one's own password."""

from fastapi import APIRouter, Request, Response

from app.actions.people import renew_password
from app.rules.people import PASSWORD_LEAST
from app.rules.verdicts import Mistakes
from app.store.people import get_person
from app.web.fields import Form
from app.web.kit import Asked, Reading, Sent, TheDesk, ThePerson, ask_again, go, keep_session, page

routes = APIRouter()


@routes.get("/password")
def show_password(request: Request, person: ThePerson, session: Reading, asked: Asked) -> Response:
    saved, email = asked.value("saved") == "yes", get_person(session, person.id).email
    return page(request, "passwords/show.html", form=Form({"email": email}), saved=saved, least=PASSWORD_LEAST)


@routes.post("/password")
def save_password(request: Request, desk: TheDesk, person: ThePerson, sent: Sent) -> Response:
    try:
        password = new_password(sent)
        if not sent.value("old_password"):
            sent.blame("old_password", "Give your present password.")
        sent.done()
        # Its own transaction: a wrong guess is remembered, although the answer is a 422.
        with desk.doing(person) as deed:
            token = renew_password(deed, sent.value("old_password"), password)
        if token is None:
            raise Mistakes({"old_password": "This is not your present password."})
    except Mistakes as wrong:
        raise ask_again(request, "passwords/show.html", sent, wrong, saved=False, least=PASSWORD_LEAST) from wrong
    response = go("/password?saved=yes")
    keep_session(request, response, token)
    return response


def new_password(sent: Form) -> str:
    """The new password, typed twice alike; whether it is a good one is for the action to say."""
    password = sent.value("password")
    if password != sent.value("password_again"):
        sent.blame("password_again", "This is not the same as the password above.")
    return password
