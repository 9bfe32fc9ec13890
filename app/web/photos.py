"""Photos of an item at a visit: taken on the tablet, shown to whoever is signed in, removable until it is finished."""

from fastapi import APIRouter, Request, Response

from app.actions.photos import add_photo, remove_photo
from app.rules.photos import BYTES_MOST
from app.rules.verdicts import Mistakes
from app.store.database import Missing
from app.store.photos import PhotoRow, get_photo
from app.store.readings import get_visit_item
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, ask_again, done, go, jpeg
from app.web.readings import show_saved_values, show_sheet_context
from app.web.sheets import show_row

routes = APIRouter()


@routes.post("/visits/{visit_id}/items/{item_id}/photos")
def save_photo(request: Request, deed: Doing, sent: Sent, visit_id: int, item_id: int) -> Response:
    """Keep a photo; what is typed on the sheet beside it stays, since only this part of the page is drawn anew."""
    row = get_visit_item(deed.session, visit_id, item_id)
    try:
        caption = sent.text("caption")
        sent.done()
        photo = add_photo(deed, visit_id, item_id, sent.files.get("photo", b"")[: BYTES_MOST + 1], caption)
    except Mistakes as wrong:
        form = Form(show_saved_values(row) | sent.values)
        context = show_sheet_context(deed.session, row, form)
        raise ask_again(request, "readings/show.html", form, wrong, after=None, stale=False, **context) from wrong
    return done(request, deed, f"/visits/{visit_id}/items/{item_id}#photos", photo_id=photo.id, **show_row(row))


@routes.post("/visits/{visit_id}/items/{item_id}/photos/{photo_id}/remove")
def remove_photo_of_item(deed: Doing, visit_id: int, item_id: int, photo_id: int) -> Response:
    remove_photo(deed, visit_id, item_id, photo_id)
    return go(f"/visits/{visit_id}/items/{item_id}#photos")


@routes.get("/photos/{photo_id}")
def show_photo(session: Reading, photo_id: int) -> Response:
    row = _there(get_photo(session, photo_id))
    return jpeg(row.content, f"photo-{row.id}.jpg")


@routes.get("/photos/{photo_id}/small")
def show_small_photo(session: Reading, photo_id: int) -> Response:
    row = _there(get_photo(session, photo_id))
    return jpeg(row.small, f"photo-{row.id}-small.jpg")


def _there(row: PhotoRow) -> PhotoRow:
    if row.removed_at is not None:
        raise Missing("photo")
    return row
