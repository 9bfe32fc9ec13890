"""What is shown when something is refused (409), missing (404), wrong (422), forbidden (403) or broken (500)."""

import logging
import secrets

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from app.actions.keyed_writes import KeyTaken
from app.rules.verdicts import Mistakes, Refused
from app.store.database import CLASHES, Missing
from app.web.guard import Elsewhere, Forbidden
from app.web.keyed_writes import answer_repeat, wants_json
from app.web.kit import AskAgain, page

log = logging.getLogger("ohmstead")
MEANWHILE = "Somebody else saved something here at the same moment. Nothing of yours was saved; open the page again."

#: What a program is told where the error has no sentence of its own.
UNSAID = {
    401: "You are no longer signed in.",
    403: "This is not open to you.",
    404: "This is no longer there.",
    500: "Something went wrong on the office computer.",
}


def add_error_pages(app: FastAPI) -> None:
    """Give each kind of error its page."""

    @app.exception_handler(AskAgain)
    def ask_again(request: Request, error: AskAgain) -> Response:
        return error.response

    @app.exception_handler(Elsewhere)
    def elsewhere(request: Request, error: Elsewhere) -> Response:
        return error.response

    @app.exception_handler(Refused)
    def refused(request: Request, error: Refused) -> Response:
        return _error(request, 409, error.sentence)

    def clash(request: Request, error: Exception) -> Response:
        log.warning("clash: %s", error)
        return _error(request, 409, MEANWHILE)

    for kind in CLASHES:
        app.add_exception_handler(kind, clash)

    @app.exception_handler(KeyTaken)
    def key_taken(request: Request, taken: KeyTaken) -> Response:
        try:
            with request.app.state.desk.database.reading() as session:
                return answer_repeat(request, session, request.state.person, taken.key, taken.body_hash)
        except Refused as problem:
            return _error(request, 409, problem.sentence)

    @app.exception_handler(Mistakes)
    def mistakes(request: Request, error: Mistakes) -> Response:
        if wants_json(request):
            return JSONResponse({"mistakes": error.messages}, status_code=422)
        return _error(request, 422, " ".join(error.messages.values()))

    @app.exception_handler(Forbidden)
    def forbidden(request: Request, error: Forbidden) -> Response:
        log.warning("forbidden: %s %s", request.method, request.scope.get("route") and request.scope["route"].path)
        return _error(request, 403, error.sentence)

    @app.exception_handler(Missing)
    @app.exception_handler(RequestValidationError)
    def missing(request: Request, error: Exception) -> Response:
        return _error(request, 404)

    @app.exception_handler(HTTPException)
    def plain(request: Request, error: HTTPException) -> Response:
        if error.status_code == 405:
            if request.url.path.startswith("/api/"):
                return JSONResponse({"message": "This address is sent to by POST."}, 405, dict(error.headers or {}))
            return _error(request, 404)
        return _error(request, error.status_code if error.status_code in (403, 404) else 422, str(error.detail))

    @app.exception_handler(Exception)
    def broken(request: Request, error: Exception) -> Response:
        reference = secrets.token_hex(4)
        # The address as it is laid out, never as it was asked for: that of a share link is a secret.
        address = getattr(request.scope.get("route"), "path", "no address of ours")
        log.error("error %s on %s %s", reference, request.method, address, exc_info=error)
        return _error(request, 500, reference=reference)


def _error(request: Request, status: int, sentence: str = "", reference: str = "") -> Response:
    if wants_json(request):
        if status == 403 and getattr(request.state, "person", None) is None:
            status = 401
        return JSONResponse({"message": sentence or UNSAID.get(status, UNSAID[500])}, status_code=status)
    if not hasattr(request.state, "person"):
        request.state.person, request.state.csrf, request.state.firm = None, "", None
    return page(request, f"errors/{status}.html", status=status, sentence=sentence, reference=reference)
