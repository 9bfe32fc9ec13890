"""What every page is made with: the desk, the person, the transaction, the form, and the page itself.

A GET has a session that never commits. A POST has a Deed whose transaction is committed before the answer
leaves (scope="function"); raising anything undoes it, so a form that comes back with mistakes is raised too.
A write with a key (app/web/keyed_writes.py) is done once, however often it comes.
"""

import secrets
from collections.abc import Iterator
from typing import Annotated, Any
from urllib.parse import urlsplit

from fastapi import Depends, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from sqlalchemy.orm import Session
from starlette.datastructures import UploadFile

from app.actions.deeds import Deed, Desk
from app.actions.keyed_writes import give_key_back, keep_answer, take_key
from app.actions.saved_views import tidy_query
from app.rules.people import Person
from app.rules.verdicts import Mistakes
from app.web.fields import Form
from app.web.keyed_writes import answer, as_entered, hash_of_body, key_of, wants_json

FILE_BYTES_MOST = 8_000_000
SESSION = "ohmstead_session"
FORM_TOKEN = "ohmstead_form"


class AskAgain(Exception):
    """The form with its mistakes, as a 422 answer; raised, so that the transaction is undone."""

    def __init__(self, response: Response) -> None:
        super().__init__("mistakes in the form")
        self.response = response


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


def _person(request: Request) -> Person:
    person: Person = request.state.person
    return person


def _reading(request: Request) -> Iterator[Session]:
    with _desk(request).database.reading() as session:
        yield session


async def _form(request: Request) -> Form:
    values: dict[str, str] = {}
    files: dict[str, bytes] = {}
    async with request.form(max_files=4, max_fields=2000, max_part_size=200_000) as sent:
        for name, value in sent.multi_items():
            if isinstance(value, UploadFile):
                content = await value.read(FILE_BYTES_MOST + 1)
                if content:
                    files[name] = content
            else:
                values.setdefault(name, value)  # the first of doubled fields counts
    return Form(values, files)


def _doing(request: Request, sent: Annotated[Form, Depends(_form)]) -> Iterator[Deed]:
    desk, person = _desk(request), _person(request)
    key = key_of(request, sent)
    with desk.doing(person) as deed:
        if not key:
            yield deed
            return
        deed = as_entered(request, desk, deed)
        request.state.keyed = row = take_key(deed, key, hash_of_body(request, sent))
        yield deed
        if not row.answer:
            give_key_back(deed, row)


def _asked(request: Request) -> Form:
    return Form(dict(request.query_params))


TheDesk = Annotated[Desk, Depends(_desk)]
ThePerson = Annotated[Person, Depends(_person)]
Reading = Annotated[Session, Depends(_reading)]
Doing = Annotated[Deed, Depends(_doing, scope="function")]
Sent = Annotated[Form, Depends(_form)]
Asked = Annotated[Form, Depends(_asked)]


def page(request: Request, name: str, status: int = 200, **context: Any) -> HTMLResponse:
    """A page or a fragment from its template, with the person, the firm and the form token."""
    state = request.state
    shared = {
        "person": getattr(state, "person", None),
        "firm": getattr(state, "firm", None),
        "csrf": getattr(state, "csrf", ""),
        "path": request.url.path,
        "asked_query": tidy_query(request.url.query),
    }
    html = request.app.state.templates.get_template(name).render(**shared, **context)
    return HTMLResponse(html, status_code=status)


def ask_again(request: Request, name: str, form: Form, wrong: Mistakes, **context: Any) -> AskAgain:
    """The form back with what was typed and a message beside each mistake, in the order of the form; to be raised."""
    places = {field: place for place, field in enumerate(form.values)}
    found = (form.mistakes | wrong.messages).items()
    form.mistakes = dict(sorted(found, key=lambda mistake: places.get(mistake[0], len(places))))
    if wants_json(request):
        return AskAgain(JSONResponse({"mistakes": form.mistakes}, status_code=422))
    return AskAgain(page(request, name, status=422, form=form, **context))


def go(path: str) -> RedirectResponse:
    """303: see the page at another address."""
    return RedirectResponse(path, status_code=303)


def done(request: Request, deed: Deed, path: str, **told: Any) -> Response:
    """A write that may be sent twice is done: go on, or say so in JSON. What is told is kept with its key."""
    told = {"to": path, **told}
    if row := getattr(request.state, "keyed", None):
        keep_answer(deed, row, told)
    return answer(request, told)


def pdf(content: bytes, file_name: str, download: bool = False) -> Response:
    """A paper, shown in the browser or downloaded. file_name is one of our own, plain ASCII."""
    kind = "attachment" if download else "inline"
    return Response(
        content, media_type="application/pdf", headers={"Content-Disposition": f'{kind}; filename="{file_name}"'}
    )


def attachment(content: bytes, media_type: str, file_name: str) -> Response:
    """A file that somebody sent in: only ever downloaded, never shown. file_name is one of our own, plain ASCII."""
    return Response(
        content, media_type=media_type, headers={"Content-Disposition": f'attachment; filename="{file_name}"'}
    )


def jpeg(content: bytes, file_name: str) -> Response:
    """A photo. Browsers take it for nothing else: nosniff stands on every answer."""
    return Response(
        content, media_type="image/jpeg", headers={"Content-Disposition": f'inline; filename="{file_name}"'}
    )


def xml(content: bytes, file_name: str) -> Response:
    """A structured file to download. file_name is one of our own, plain ASCII."""
    return Response(
        content, media_type="application/xml", headers={"Content-Disposition": f'attachment; filename="{file_name}"'}
    )


def with_form_token(request: Request, name: str, form: Form, **context: Any) -> Response:
    """A page for somebody who is not signed in yet, with the cookie that its form token is checked against."""
    token = request.cookies.get(FORM_TOKEN) or secrets.token_urlsafe(24)
    request.state.csrf = token
    response = page(request, name, form=form, **context)
    response.set_cookie(
        FORM_TOKEN, token, path="/", httponly=True, samesite="strict", secure=request.url.scheme == "https"
    )
    return response


def keep_session(request: Request, response: Response, token: str) -> None:
    """Put the session's token in its cookie; the server decides when it ends."""
    response.set_cookie(
        SESSION,
        token,
        path="/",
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
        max_age=14 * 86400,
    )


def local_path(path: str) -> str:
    """A path on this server, whatever was asked for."""
    parts = urlsplit(path)
    good = (
        path.startswith("/")
        and not path.startswith(("//", "/\\"))
        and not parts.scheme
        and not parts.netloc
        and path.isprintable()
    )
    return path if good and "\\" not in path else "/"
