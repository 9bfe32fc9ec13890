"""Stands before every page: who is asking, may they open this, and does a write come from our own page.

A write needs the form token of its session, in the field csrf or the header X-CSRF, and an Origin that is ours.
Before anybody is signed in, the token lives in a cookie of its own.
"""

import hmac
from urllib.parse import quote, urlsplit

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from app.actions.people import hash_of
from app.store.database import Missing
from app.store.firms import find_firm
from app.store.people import find_sign_in
from app.web.access import EVERYBODY, STATELESS, find_roles
from app.web.keyed_writes import wants_json
from app.web.kit import FORM_TOKEN, SESSION

WRITES = frozenset({"POST", "PUT", "PATCH", "DELETE"})
ID_MOST = 2**31 - 1
BEFORE_SET_UP = ("/set-up", "/health", "/robots.txt", "/trust", "/trust/ohmstead-authority.crt")


class Elsewhere(Exception):
    """The request is answered by something else: the way to sign-in or set-up, or an answer of its own."""

    def __init__(self, instead: str | Response) -> None:
        super().__init__(instead)
        self.response = RedirectResponse(instead, status_code=303) if isinstance(instead, str) else instead


class Forbidden(Exception):
    """A signed-in person may not do this, or a write did not come from our own page."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def check_person(request: Request) -> None:
    """Find out who is asking and refuse what is not theirs to open."""
    state = request.state
    state.person, state.csrf, state.firm = None, request.cookies.get(FORM_TOKEN, ""), None
    path = request.scope["route"].path
    network = request.app.state.local_network
    if network is not None and request.url.hostname not in network.hosts:
        # Another site's name that leads here (DNS rebinding), or a name that the certificate does not have.
        raise Forbidden("Ohmstead does not answer to this name. Open it at an address that its page Tablets shows.")
    if path in STATELESS:
        return
    with request.app.state.desk.database.reading() as session:
        firm = find_firm(session)
        token = request.cookies.get(SESSION, "")
        sign_in = find_sign_in(session, hash_of(token), request.app.state.desk.now) if token else None
        if firm is not None:
            state.firm = firm.details  # plain values: the row is of no use once its session is over
        if sign_in is not None:
            state.person, state.csrf = sign_in.person.as_person, sign_in.csrf
    roles = find_roles(request.method, path)
    if firm is None and path not in BEFORE_SET_UP:
        raise Elsewhere("/set-up")
    if roles == EVERYBODY:
        return
    if state.person is None:
        if request.method in WRITES or wants_json(request):
            raise Forbidden(
                "You are no longer signed in. Open the sign-in page in another tab, sign in, and send this again."
            )
        here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        raise Elsewhere("/sign-in" if here == "/" else f"/sign-in?next={quote(here, safe='/')}")
    if state.person.role not in roles:
        raise Forbidden("This is not open to you. Ask the owner if you need it.")
    # A number that no database can hold as an id would break the question instead of finding nothing.
    ids = [value for name, value in request.path_params.items() if name.endswith("_id")]
    if any(str(value).isdecimal() and int(value) > ID_MOST for value in ids):
        raise Missing("page")


async def check_origin(request: Request) -> None:
    """Refuse a write that does not come from a page of our own."""
    if request.method not in WRITES or request.scope["route"].path in STATELESS:
        return
    headers = request.headers
    origin = headers.get("origin")
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        raise Forbidden("This was sent from another site, so nothing was done.")
    if origin is not None and urlsplit(origin).netloc != headers.get("host", ""):
        raise Forbidden("This was sent from another site, so nothing was done.")
    sent = headers.get("x-csrf")
    if sent is None and "form" in headers.get("content-type", ""):
        sent = str((await request.form(max_files=4, max_fields=2000, max_part_size=200_000)).get("csrf", ""))
    if not request.state.csrf or not hmac.compare_digest((sent or "").encode(), request.state.csrf.encode()):
        raise Forbidden("This page was open for too long, or was sent twice. Nothing was done; open the page again.")
