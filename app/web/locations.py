"""The locations of a premises: rooms and areas, added, renamed, and removed while they are empty."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.premises import add_location, change_location, remove_location
from app.rules.verdicts import Mistakes
from app.store.premises import get_location, get_premises
from app.store.registers import count_items_at_locations
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, ask_again, go, page

routes = APIRouter()


@routes.get("/premises/{premises_id}/locations")
def list_locations(request: Request, session: Reading, premises_id: int) -> Response:
    return page(request, "premises/locations.html", form=Form(), **_premises(session, premises_id))


@routes.post("/premises/{premises_id}/locations")
def save_new_location(request: Request, deed: Doing, sent: Sent, premises_id: int) -> Response:
    shown = _premises(deed.session, premises_id)
    try:
        add_location(deed, premises_id, _name_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "premises/locations.html", sent, wrong, **shown) from wrong
    return go(f"/premises/{premises_id}/locations")


@routes.get("/locations/{location_id}/edit")
def edit_location(request: Request, session: Reading, location_id: int) -> Response:
    row = get_location(session, location_id)
    return page(request, "premises/edit_location.html", form=Form.showing(name=row.name), location=row)


@routes.post("/locations/{location_id}")
def save_location(request: Request, deed: Doing, sent: Sent, location_id: int) -> Response:
    row = get_location(deed.session, location_id)
    try:
        change_location(deed, location_id, _name_from(sent))
    except Mistakes as wrong:
        raise ask_again(request, "premises/edit_location.html", sent, wrong, location=row) from wrong
    return go(f"/premises/{row.premises_id}/locations")


@routes.post("/locations/{location_id}/remove")
def remove_empty_location(deed: Doing, location_id: int) -> Response:
    return go(f"/premises/{remove_location(deed, location_id)}/locations")


def _name_from(sent: Form) -> str:
    name = sent.text("name", 80, needed="Give the location a name.")
    sent.done()
    return name


def _premises(session: Session, premises_id: int) -> dict[str, Any]:
    return {"premises": get_premises(session, premises_id), "counts": count_items_at_locations(session, premises_id)}
