"""Signing in and out."""

from fastapi import APIRouter, Request, Response

from app.actions.people import sign_in, sign_out
from app.rules.verdicts import Mistakes
from app.web.kit import (
    SESSION,
    Asked,
    Doing,
    Sent,
    TheDesk,
    ask_again,
    go,
    keep_session,
    local_path,
    with_form_token,
)

routes = APIRouter()


@routes.get("/sign-in")
def show_sign_in(request: Request, asked: Asked) -> Response:
    if request.state.person is not None:
        return go("/")
    return with_form_token(request, "sign_in/show.html", form=asked)


@routes.post("/sign-in")
def save_sign_in(request: Request, desk: TheDesk, sent: Sent) -> Response:
    email, password = sent.text("email"), sent.value("password")
    try:
        if not email or not password:
            raise Mistakes({"email": "Give your e-mail address and your password."})
        # Its own transaction: a failed guess is kept, although the answer is a 422.
        with desk.doing(None) as deed:
            token = sign_in(deed, email, password)
        if token is None:
            raise Mistakes({"password": "The e-mail address and the password do not belong together."})
    except Mistakes as wrong:
        raise ask_again(request, "sign_in/show.html", sent, wrong) from wrong
    response = go(local_path(sent.value("next")))
    keep_session(request, response, token)
    return response


@routes.post("/sign-out")
def save_sign_out(request: Request, deed: Doing) -> Response:
    sign_out(deed, request.cookies.get(SESSION, ""))
    response = go("/sign-in")
    response.delete_cookie(SESSION, path="/")
    return response
