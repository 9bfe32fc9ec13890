"""The customer's word through a share link: that an item is put right, and the wish for a visit. Both become tasks.

Nobody signs in here. A form carries the token of a cookie, as on the sign-in page; what is sent is bounded in size and
number; and whoever keeps sending forms that cannot be used is slowed like whoever guesses at addresses.
"""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.actions.share_links import keep_failed_try
from app.actions.tasks import Word, ask_for_visit, report_remedy
from app.rules.photos import BYTES_MOST
from app.rules.tasks import CONTACT_MOST, NAME_MOST, SAID_MOST, WISHED_MOST
from app.rules.verdicts import Mistakes, Refused
from app.store.premises import list_premises
from app.store.share_links import ShareLinkRow
from app.web.fields import Form
from app.web.kit import Reading, Sent, TheDesk, ask_again, go, page, with_form_token
from app.web.share import show_closed, show_link
from app.web.share_pages import OpenItem, list_open_items

routes = APIRouter()
WHO = "Give your name, so that we know whom to ask."
REACH = "Say how we reach you: a telephone number or an e-mail address."


@routes.get("/s/{token}/items/{item_id}/put-right")
def new_remedy_report(request: Request, session: Reading, desk: TheDesk, token: str, item_id: int) -> Response:
    link = show_link(request, session, desk, token)
    item = _item(session, desk, link, item_id)
    if item is None:
        return show_closed(request)
    return _form(request, "share/remedy.html", **_remedy_shown(link, item, token))


@routes.post("/s/{token}/items/{item_id}/put-right")
def save_remedy_report(
    request: Request, session: Reading, desk: TheDesk, sent: Sent, token: str, item_id: int
) -> Response:
    link = show_link(request, session, desk, token)
    item = _item(session, desk, link, item_id)
    if item is None:
        return show_closed(request)
    link_id, shown = link.id, _remedy_shown(link, item, token)
    photo = sent.files.get("photo", b"")[: BYTES_MOST + 1]
    word = Word(
        sent.text("name", NAME_MOST, needed=WHO),
        sent.text("contact", CONTACT_MOST),
        sent.lines("said", SAID_MOST),
    )
    if not word.said:
        sent.blame("said", "Say what was done and by whom.")

    def tell(deed: Deed) -> None:
        report_remedy(deed, link_id, item_id, word, photo)

    return _tell(request, session, desk, sent, tell, "share/remedy.html", shown)


@routes.get("/s/{token}/ask-for-a-visit")
def new_visit_wish(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    link = show_link(request, session, desk, token)
    if not link.scope.may_write:
        return show_closed(request)
    return _form(request, "share/visit_wish.html", **_wish_shown(session, link, token))


@routes.post("/s/{token}/ask-for-a-visit")
def save_visit_wish(request: Request, session: Reading, desk: TheDesk, sent: Sent, token: str) -> Response:
    link = show_link(request, session, desk, token)
    if not link.scope.may_write:
        return show_closed(request)
    link_id, shown = link.id, _wish_shown(session, link, token)
    place = sent.whole("premises_id", 1, 2**31 - 1)
    if place is not None and place not in {value for value, _ in shown["places"]}:
        sent.blame("premises_id", "Choose one of these.")
    word = Word(
        sent.text("name", NAME_MOST, needed=WHO),
        sent.text("contact", CONTACT_MOST, needed=REACH),
        sent.lines("said", SAID_MOST),
        sent.text("wished", WISHED_MOST),
    )

    def tell(deed: Deed) -> None:
        ask_for_visit(deed, link_id, word, place)

    return _tell(request, session, desk, sent, tell, "share/visit_wish.html", shown)


@routes.get("/s/{token}/received")
def show_received(request: Request, session: Reading, desk: TheDesk, token: str) -> Response:
    """That it has arrived; an address of its own, so that loading it again sends nothing twice."""
    link = show_link(request, session, desk, token)
    return page(request, "share/received.html", here=f"/s/{token}", expires_on=link.expires_on)


def _item(session: Session, desk: Desk, link: ShareLinkRow, item_id: int) -> OpenItem | None:
    if not link.scope.may_write:
        return None
    return next((each for each in list_open_items(session, desk, link.scope) if each.item.id == item_id), None)


def _tell(
    request: Request,
    session: Session,
    desk: Desk,
    sent: Form,
    tell: Callable[[Deed], None],
    name: str,
    shown: dict[str, Any],
) -> Response:
    """Take a customer's word in a transaction of its own, or give the form back with what is wrong."""
    session.rollback()  # nothing is read any more; on SQLite the write would otherwise be made from an old state
    try:
        sent.done()
        with desk.doing(request.state.person) as deed:
            tell(deed)
    except Mistakes as wrong:
        with desk.doing(None) as deed:
            keep_failed_try(deed, request.client.host if request.client else "")
        raise ask_again(request, name, sent, wrong, **shown) from wrong
    except Refused as refused:
        return page(request, "share/enough.html", status=409, sentence=refused.sentence)
    return go(f"{shown['here']}/received")


def _remedy_shown(link: ShareLinkRow, item: OpenItem, token: str) -> dict[str, Any]:
    return {"item": item, "photo_bytes_most": BYTES_MOST, "here": f"/s/{token}", "expires_on": link.expires_on}


def _wish_shown(session: Session, link: ShareLinkRow, token: str) -> dict[str, Any]:
    places = [(row.id, row.name) for row in list_premises(session, link.customer_id)]
    if link.premises_id is not None or link.visit_id is not None:
        known = link.premises_id or (link.visit.premises_id if link.visit else None)
        places = [place for place in places if place[0] == known]
    return {"places": places, "here": f"/s/{token}", "expires_on": link.expires_on}


def _form(request: Request, name: str, **told: Any) -> Response:
    """A form for somebody who is not signed in; for one of the firm who looks in, with their own token."""
    if request.state.person is not None:
        return page(request, name, form=Form(), **told)
    return with_form_token(request, name, Form(), **told)
