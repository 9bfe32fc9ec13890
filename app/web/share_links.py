"""Share links for the office: making one, showing its address once, the list of all, and withdrawing."""

from urllib.parse import quote

import segno
from fastapi import APIRouter, Request, Response

from app.actions.share_links import make_share_link, withdraw_share_link
from app.rules.share_links import DAYS_MOST, DAYS_USUAL, LinkState, next_expiry
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import find_certificate_of_visit
from app.store.share_links import list_share_links
from app.store.visits import VisitRow, get_visit
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()
STATES = [(state.value, state.value.capitalize()) for state in LinkState]


@routes.get("/share-links")
def list_all_share_links(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    search = asked.text("q")
    state = asked.value("state") if asked.value("state") in dict(STATES) else ""
    return page(
        request,
        "share_links/list.html",
        share_links=list_share_links(session, state=state, search=search, today=desk.today),
        search=search,
        state=state,
        states=STATES,
        today=desk.today,
    )


@routes.get("/visits/{visit_id}/share-links/new")
def new_share_link(request: Request, session: Reading, desk: TheDesk, visit_id: int) -> Response:
    visit = get_visit(session, visit_id)
    certificate = find_certificate_of_visit(session, visit_id)
    if certificate is None or certificate.state != "issued":
        raise Refused("A share link opens the papers of a visit. Issue the certificate first.")
    form = Form.showing(days=DAYS_USUAL, note=visit.customer.contacts[0].name if visit.customer.contacts else "")
    return page(request, "share_links/new.html", form=form, visit=visit, last_day=next_expiry(desk.today))


@routes.post("/visits/{visit_id}/share-links")
def save_share_link(request: Request, desk: TheDesk, deed: Doing, sent: Sent, visit_id: int) -> Response:
    """Make the link and show its address. There is no page to go to after: the address cannot be read again."""
    visit = get_visit(deed.session, visit_id)
    try:
        days = sent.whole("days", 1, DAYS_MOST)
        note = sent.text("note", 100)
        sent.done()
        days = DAYS_USUAL if days is None else days
        token = make_share_link(deed, visit_id, days, note)
    except Mistakes as wrong:
        last_day = next_expiry(desk.today)
        raise ask_again(request, "share_links/new.html", sent, wrong, visit=visit, last_day=last_day) from wrong
    address = f"{desk.public_address}/s/{token}"
    return page(
        request,
        "share_links/show.html",
        visit=visit,
        address=address,
        note=note,
        expires_on=next_expiry(desk.today, days),
        drawing=segno.make(address, error="m", micro=False).png_data_uri(scale=5, border=4),
        letter=_letter(visit, desk, address),
        only_here=desk.public_address.startswith(("http://127.", "http://localhost")),
        open_to_all=desk.public_address.startswith("http://"),
    )


@routes.post("/share-links/{share_link_id}/withdraw")
def save_withdrawal(deed: Doing, sent: Sent, share_link_id: int) -> Response:
    row = withdraw_share_link(deed, share_link_id)
    return go(f"/visits/{row.visit_id}#papers" if sent.value("back") == "visit" else "/share-links")


def _letter(visit: VisitRow, desk: TheDesk, address: str) -> str:
    """An e-mail to the customer, for the mail program of the person who made the link."""
    customer = visit.customer
    emails = [contact.email for contact in customer.contacts if contact.email] + [customer.email]
    day = visit.finished_on or desk.today
    subject = f"Inspection and test at {visit.premises.name}, {day.day} {day:%B %Y}"
    body = f"Here is the certificate, with what passed, what failed and what to do:\r\n\r\n{address}\r\n"
    return f"mailto:{quote(emails[0], safe='@')}?subject={quote(subject)}&body={quote(body)}"
