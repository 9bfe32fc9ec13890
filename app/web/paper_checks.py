"""The public check of a paper: whoever holds it sees whether it was issued, whether it holds, and its SHA-256."""

import re

from fastapi import APIRouter, Request, Response

from app.actions.share_links import TooManyTries, try_code
from app.actions.signing_keys import open_authority
from app.web.kit import Asked, TheDesk, go, page

routes = APIRouter()
GROUPS = re.compile(r"[0-9A-Z]{16}")


@routes.get("/check")
def show_check_form(request: Request, asked: Asked) -> Response:
    """The form for a code typed by hand; as a plain GET it leads to the address that the QR code holds."""
    code = _tidied(asked.value("code"))
    return go(f"/check/{code}") if code else page(request, "paper_checks/new.html")


@routes.get("/check/signing-authority.pem")
def download_signing_authority(desk: TheDesk) -> Response:
    """The public certificate of the firm's own authority, for programs that check signatures."""
    headers = {"Content-Disposition": 'attachment; filename="signing-authority.pem"'}
    return Response(open_authority(desk), media_type="application/x-pem-file", headers=headers)


@routes.get("/check/{code}")
@routes.head("/check/{code}")
def show_check(request: Request, desk: TheDesk, code: str) -> Response:
    try:
        found = try_code(desk, _tidied(code), request.client.host if request.client else "")
    except TooManyTries:
        answer = page(request, "share/slowed.html", status=429)
        answer.headers["Retry-After"] = "60"
        return answer
    if found is None:
        return page(request, "paper_checks/missing.html", status=404)
    return page(request, "paper_checks/show.html", paper=found)


def _tidied(code: str) -> str:
    """A code as it is kept, however it was typed: capitals, in groups of four."""
    plain = re.sub(r"[^0-9A-Z]", "", code.upper())[:40]
    return "-".join(re.findall("....", plain)) if GROUPS.fullmatch(plain) else plain
