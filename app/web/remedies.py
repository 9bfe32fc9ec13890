"""Putting a failed item right on the spot from its sheet: what was changed, then a second set of readings."""

from decimal import Decimal

from fastapi import APIRouter, Request, Response

from app.actions.remedies import put_right, take_back_remedy
from app.rules.remedies import Change, PutRight
from app.rules.verdicts import Mistakes
from app.store.readings import get_visit_item
from app.web.fields import Form
from app.web.kit import Doing, Sent, ask_again, done, go
from app.web.readings import show_saved_values, show_sheet_context
from app.web.sheets import show_row

routes = APIRouter()


@routes.post("/visits/{visit_id}/items/{item_id}/put-right")
def save_put_right(request: Request, deed: Doing, sent: Sent, visit_id: int, item_id: int) -> Response:
    """Keep what was found as an earlier set, change the item's facts, and open it for its second test."""
    row = get_visit_item(deed.session, visit_id, item_id)
    try:
        changed = _put_right_from(sent)
        sent.done()
        put_right(deed, visit_id, item_id, changed, sent.version())
    except Mistakes as wrong:
        form = Form(show_saved_values(row) | sent.values)
        context = show_sheet_context(deed.session, row, form)
        raise ask_again(request, "readings/show.html", form, wrong, after=None, stale=False, **context) from wrong
    return done(request, deed, f"/visits/{visit_id}/items/{item_id}", **show_row(row))


@routes.post("/visits/{visit_id}/items/{item_id}/put-right/take-back")
def save_remedy_taken_back(deed: Doing, sent: Sent, visit_id: int, item_id: int) -> Response:
    take_back_remedy(deed, visit_id, item_id, sent.version())
    return go(f"/visits/{visit_id}/items/{item_id}")


def _put_right_from(sent: Form) -> PutRight:
    if not sent.value("change"):
        sent.blame("change", "Say what was changed.")
    change = sent.choice("change", Change, Change.OTHER)
    return PutRight(
        change,
        fuse_a=_size(sent, "new_fuse_a", "100") if change in (Change.FUSE, Change.PLUG) else None,
        csa_mm2=_size(sent, "new_csa_mm2", "16") if change is Change.CORD else None,
        length_m=_size(sent, "new_length_m", "100") if change is Change.CORD else None,
        words=sent.text("put_right_words"),
    )


def _size(sent: Form, name: str, most: str) -> Decimal | None:
    return sent.number(name, "0.1", most)
