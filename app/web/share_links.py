"""Share links for the office: making one, showing its address once, the list of all, the preview, and withdrawing."""

from typing import Any
from urllib.parse import quote

import segno
from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.share_links import share, withdraw_share_link
from app.rules.share_links import (
    DAYS_MOST,
    DAYS_USUAL,
    LinkKind,
    LinkState,
    next_expiry,
)
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import find_certificate_of_visit
from app.store.customers import get_customer
from app.store.folders import find_in_folder
from app.store.share_links import list_share_links
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page
from app.web.link_scopes import Shared, show_shared, show_shared_from
from app.web.share_pages import show_scope

routes = APIRouter()
STATES = [(state.value, state.value.capitalize()) for state in LinkState]


@routes.get("/share-links")
def list_all_share_links(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    search = asked.text("q")
    state = asked.value("state") if asked.value("state") in dict(STATES) else ""
    customer_id = asked.whole("customer", 1, 2**31 - 1)
    return page(
        request,
        "share_links/list.html",
        share_links=list_share_links(session, customer_id=customer_id, state=state, search=search, today=desk.today),
        of_customer=get_customer(session, customer_id) if customer_id is not None else None,
        search=search,
        state=state,
        states=STATES,
        today=desk.today,
    )


@routes.get("/share-links/new")
def new_share_link(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    return _new(request, session, desk, show_shared_from(session, asked), asked.tick("money"))


@routes.get("/visits/{visit_id}/share-links/new")
def new_share_link_of_visit(request: Request, session: Reading, desk: TheDesk, visit_id: int) -> Response:
    return _new(request, session, desk, show_shared(session, LinkKind.VISIT.value, visit_id), True)


@routes.get("/share-links/preview")
def show_preview(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """The customer's page as a link would show it now. Nothing is counted, and nothing on it can be pressed."""
    shared = show_shared_from(session, asked, asked.tick("money"))
    name, told = show_scope(session, desk, shared.scope)
    if not name:
        raise Refused("There is nothing to show yet: no certificate of this visit is issued.")
    return page(request, name, here="", expires_on=None, preview=shared, **told)


@routes.post("/share-links")
def save_new_share_link(request: Request, desk: TheDesk, deed: Doing, sent: Sent) -> Response:
    if not sent.value("opens"):
        raise Refused("Nothing was named to share. Begin from a customer, premises, a visit or a paper.")
    return _save(request, desk, deed, sent, show_shared_from(deed.session, sent, sent.tick("with_money")))


@routes.post("/visits/{visit_id}/share-links")
def save_share_link(request: Request, desk: TheDesk, deed: Doing, sent: Sent, visit_id: int) -> Response:
    shared = show_shared(deed.session, LinkKind.VISIT.value, visit_id, sent.tick("with_money"))
    return _save(request, desk, deed, sent, shared)


@routes.post("/share-links/{share_link_id}/withdraw")
def save_withdrawal(deed: Doing, sent: Sent, share_link_id: int) -> Response:
    row = withdraw_share_link(deed, share_link_id)
    backs = {"visit": f"/visits/{row.visit_id}#papers", "customer": f"/share-links?customer={row.customer_id}"}
    return go(backs.get(sent.value("back"), "/share-links"))


def _new(request: Request, session: Session, desk: TheDesk, shared: Shared, money: bool) -> Response:
    visit_id = shared.scope.visit_id
    if visit_id is not None:
        certificate = find_certificate_of_visit(session, visit_id)
        if certificate is None or certificate.state != "issued":
            raise Refused("A share link opens the papers of a visit. Issue the certificate first.")
    if shared.scope.paper is not None and find_in_folder(session, shared.scope, *shared.scope.paper) is None:
        raise Refused("Only a paper that is issued can be shared.")
    contacts = shared.customer.contacts
    form = Form.showing(days=DAYS_USUAL, note=contacts[0].name if contacts else "", with_money=money)
    return page(request, "share_links/new.html", form=form, **_asked_about(desk, shared))


def _save(request: Request, desk: TheDesk, deed: Doing, sent: Form, shared: Shared) -> Response:
    """Make the link and show its address. There is no page to go to after: the address cannot be read again."""
    try:
        days = sent.whole("days", 1, DAYS_MOST)
        note = sent.text("note", 100)
        sent.done()
        until_withdrawn = sent.tick("until_withdrawn")
        days = None if until_withdrawn else DAYS_USUAL if days is None else days
        token = share(deed, shared.scope, days, note)
    except Mistakes as wrong:
        raise ask_again(request, "share_links/new.html", sent, wrong, **_asked_about(desk, shared)) from wrong
    address = f"{desk.public_address}/s/{token}"
    return page(
        request,
        "share_links/show.html",
        shared=shared,
        address=address,
        note=note,
        expires_on=None if days is None else next_expiry(desk.today, days),
        drawing=segno.make(address, error="m", micro=False).png_data_uri(scale=5, border=4),
        letter=_letter(shared, address),
        only_here=desk.public_address.startswith(("http://127.", "http://localhost")),
        open_to_all=desk.public_address.startswith("http://"),
    )


def _asked_about(desk: TheDesk, shared: Shared) -> dict[str, Any]:
    return {
        "shared": shared,
        "last_day": next_expiry(desk.today),
        "open_to_all": desk.public_address.startswith("http://")
        and not desk.public_address.startswith(("http://127.", "http://localhost")),
    }


def _letter(shared: Shared, address: str) -> str:
    """An e-mail to the customer, for the mail program of the person who made the link."""
    subject = f"{shared.title[0].upper()}{shared.title[1:]}" + (f", {shared.about}" if shared.about else "")
    body = f"Here are your papers. The address opens without a password, so keep it to yourself:\r\n\r\n{address}\r\n"
    return f"mailto:{quote(shared.customer.mail_address, safe='@')}?subject={quote(subject)}&body={quote(body)}"
