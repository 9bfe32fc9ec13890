"""Calendar feeds: the page with their addresses, and what a calendar reads at one."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.calendar_feeds import make_calendar_feed, read_calendar_feed, withdraw_calendar_feed
from app.rules.people import Person, Role
from app.rules.verdicts import Mistakes
from app.store.calendar_feeds import list_calendar_feeds
from app.store.database import Missing
from app.store.people import list_technicians
from app.web.kit import Doing, Reading, Sent, TheDesk, ThePerson, go, page

routes = APIRouter()


@routes.get("/calendars")
def list_calendars(request: Request, session: Reading, person: ThePerson) -> Response:
    return page(request, "calendar_feeds/list.html", address="", **_context(session, person))


@routes.post("/calendars")
def save_calendar(request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent) -> Response:
    """Make an address, or make it anew. It is shown on this answer alone."""
    whose = sent.whole("person_id", 1, 2**31 - 1)
    known = {row.id for row in list_technicians(deed.session)}
    if sent.mistakes or (whose is not None and whose not in known):
        raise Mistakes({"person_id": "Choose whose calendar it is."})
    token = make_calendar_feed(deed, whose)
    context = _context(deed.session, person)
    address = f"{desk.public_address}/calendar/{token}.ics"
    return page(request, "calendar_feeds/list.html", address=address, **context)


@routes.post("/calendars/{feed_id}/withdraw")
def save_withdrawal(deed: Doing, feed_id: int) -> Response:
    withdraw_calendar_feed(deed, feed_id)
    return go("/calendars")


@routes.get("/calendar/{token}.ics")
def download_calendar(desk: TheDesk, token: str) -> Response:
    content = read_calendar_feed(desk, token)
    if content is None:
        raise Missing("calendar")
    headers = {"Cache-Control": "private, no-store", "X-Robots-Tag": "noindex"}
    return Response(content, media_type="text/calendar; charset=utf-8", headers=headers)


def _context(session: Session, person: Person) -> dict[str, Any]:
    feeds = {row.person_id: row for row in list_calendar_feeds(session)}
    people: list[tuple[int | None, str]] = [(row.id, row.name) for row in list_technicians(session)]
    if person.role == Role.TECHNICIAN:
        people = [each for each in people if each[0] == person.id]
    else:
        people.insert(0, (None, "The whole firm"))
    return {"rows": [(row_id, name, feeds.get(row_id)) for row_id, name in people]}
