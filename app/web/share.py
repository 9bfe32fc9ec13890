"""The customer's side, opened by a share link only: what the link's scope names, and nothing else.

A link that is unknown, has expired or was withdrawn gets one and the same answer.
"""

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.share_links import TooManyTries, try_share_link
from app.rules.certificates import Standing, list_photo_ids
from app.rules.share_links import LinkKind
from app.store.certificates import list_certificates_of_visit
from app.store.photos import get_photo
from app.store.share_links import ShareLinkRow, get_share_link
from app.web.guard import Elsewhere
from app.web.kit import Reading, TheDesk, jpeg, page
from app.web.share_pages import show_scope

routes = APIRouter()


@routes.get("/s/{token}")
@routes.head("/s/{token}")
def show_share(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    """The page of one link. The opening is counted in a transaction of its own; a HEAD counts nothing."""
    link = show_link(request, session, desk, token, counted=request.method == "GET")
    name, told = show_scope(session, desk, link.scope)
    if not name:
        return show_closed(request)
    return page(request, name, here=f"/s/{token}", expires_on=link.expires_on, preview=None, **told)


@routes.get("/s/{token}/photos/{photo_id}")
def show_shared_photo(request: Request, session: Reading, desk: TheDesk, token: str, photo_id: int) -> Response:
    """A photo that the certificate of this link's visit shows; any other is not there."""
    link = show_link(request, session, desk, token)
    if link.scope.kind != LinkKind.VISIT or link.visit_id is None:
        return show_closed(request)
    rows = list_certificates_of_visit(session, link.visit_id)
    certificate = next((row for row in rows if row.standing == Standing.ISSUED), None)
    if certificate is None or photo_id not in list_photo_ids(certificate.data):
        return show_closed(request)
    return jpeg(get_photo(session, photo_id).content, f"photo-{photo_id}.jpg")


def show_link(request: Request, session: Session, desk: Desk, token: str, counted: bool = False) -> ShareLinkRow:
    """The live link of an address. Raises Elsewhere with the answer to give instead, where there is none."""
    try:
        found = try_share_link(desk, token, request.client.host if request.client else "", counted)
    except TooManyTries as slowed:
        answer = page(request, "share/slowed.html", status=429)
        answer.headers["Retry-After"] = "60"
        raise Elsewhere(answer) from slowed
    if found is None:
        raise Elsewhere(show_closed(request))
    return get_share_link(session, found)


def show_closed(request: Request) -> Response:
    """What is not there, and what never was."""
    return page(request, "share/closed.html", status=404)
