"""The public check of a certificate: whoever holds the paper sees whether it was issued, and its SHA-256."""

import re

from fastapi import APIRouter, Request, Response

from app.actions.share_links import TooManyTries, try_code
from app.store.certificates import find_newest_revision, get_certificate
from app.web.kit import Asked, Reading, TheDesk, go, page

routes = APIRouter()
GROUPS = re.compile(r"[0-9A-Z]{16}")


@routes.get("/check")
def show_check_form(request: Request, asked: Asked) -> Response:
    """The form for a code typed by hand; as a plain GET it leads to the address that the QR code holds."""
    code = _tidied(asked.value("code"))
    return go(f"/check/{code}") if code else page(request, "paper_checks/new.html")


@routes.get("/check/{code}")
@routes.head("/check/{code}")
def show_check(request: Request, session: Reading, desk: TheDesk, code: str) -> Response:
    try:
        found = try_code(desk, _tidied(code), request.client.host if request.client else "")
    except TooManyTries:
        answer = page(request, "share/slowed.html", status=429)
        answer.headers["Retry-After"] = "60"
        return answer
    if found is None:
        return page(request, "paper_checks/missing.html", status=404)
    row = get_certificate(session, found)
    newest = find_newest_revision(session, row)
    return page(request, "paper_checks/show.html", certificate=row, standing=row.standing.value, newest=newest)


def _tidied(code: str) -> str:
    """A code as it is kept, however it was typed: capitals, in groups of four."""
    plain = re.sub(r"[^0-9A-Z]", "", code.upper())[:40]
    return "-".join(re.findall("....", plain)) if GROUPS.fullmatch(plain) else plain
