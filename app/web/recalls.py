"""Product recalls: lists brought in with a preview of their columns, items to look at, and what people say of each."""

from functools import partial
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.recalls import (
    Columns,
    confirm_hit,
    discard_recall_list,
    dismiss_hit,
    look_again,
    preview_recall_list,
    settle_hit,
    take_in_recall_list,
    upload_recall_list,
)
from app.rules.items import ItemState
from app.rules.recalls import MEANINGS, HitState, check_columns
from app.rules.verdicts import Mistakes
from app.store.recalls import (
    RecallHitRow,
    RecallListRow,
    count_recall_hits,
    count_recall_notices,
    get_recall_hit,
    get_recall_list,
    list_recall_hits,
    list_recall_letters,
    list_recall_lists,
)
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, ask_again, go, page
from app.web.uploaded_lists import UploadedKind, save_taken, save_uploaded, show_uploaded

routes = APIRouter()
SHOWN = 100
LISTS = UploadedKind("/recalls/lists", "recalls", "columns", "Choose the list as a CSV file.", "Recall list")
STATES = [(state.value, state.word.capitalize()) for state in HitState]


@routes.get("/recalls")
def list_recalls(request: Request, session: Reading, asked: Asked) -> Response:
    return page(request, "recalls/list.html", form=Form(), **_shown(session, asked))


@routes.post("/recalls/lists")
def save_recall_list(request: Request, deed: Doing, sent: Sent) -> Response:
    keep = partial(upload_recall_list, deed)
    return save_uploaded(request, LISTS, sent, keep, lambda: _shown(deed.session, Form()))


@routes.get("/recalls/lists/{recall_list_id}")
def show_recall_list(request: Request, session: Reading, asked: Asked, recall_list_id: int) -> Response:
    """What the list comes to; with columns in the address, what it would come to by those."""
    row = get_recall_list(session, recall_list_id)
    columns = _columns_from(asked) if "make" in asked.values else None
    return show_uploaded(request, LISTS, row, lambda: _preview_of(session, row, columns))


@routes.post("/recalls/lists/{recall_list_id}/take")
def save_notices(request: Request, deed: Doing, sent: Sent, recall_list_id: int) -> Response:
    row, columns = get_recall_list(deed.session, recall_list_id), _columns_from(sent)
    take = partial(take_in_recall_list, deed, row.id, columns)
    preview = partial(_preview_of, deed.session, row, columns)
    return save_taken(request, LISTS, take, preview, f"{LISTS.address}/{row.id}")


@routes.post("/recalls/lists/{recall_list_id}/discard")
def remove_recall_list(deed: Doing, recall_list_id: int) -> Response:
    discard_recall_list(deed, recall_list_id)
    return go("/recalls")


@routes.get("/recalls/hits/{recall_hit_id}")
def show_hit(request: Request, session: Reading, recall_hit_id: int) -> Response:
    form = Form.showing(out_of_use=True)
    return page(request, "recalls/hit.html", form=form, **_hit_shown(get_recall_hit(session, recall_hit_id)))


@routes.post("/recalls/hits/{recall_hit_id}/confirm")
def save_confirmed(request: Request, deed: Doing, sent: Sent, recall_hit_id: int) -> Response:
    return _decide(request, deed, sent, recall_hit_id, HitState.CONFIRMED)


@routes.post("/recalls/hits/{recall_hit_id}/dismiss")
def save_dismissed(request: Request, deed: Doing, sent: Sent, recall_hit_id: int) -> Response:
    return _decide(request, deed, sent, recall_hit_id, HitState.DISMISSED)


@routes.post("/recalls/hits/{recall_hit_id}/look-again")
def save_look_again(request: Request, deed: Doing, sent: Sent, recall_hit_id: int) -> Response:
    return _decide(request, deed, sent, recall_hit_id, HitState.PROPOSED)


@routes.post("/recalls/hits/{recall_hit_id}/settle")
def save_settled(request: Request, deed: Doing, sent: Sent, recall_hit_id: int) -> Response:
    return _decide(request, deed, sent, recall_hit_id, HitState.SETTLED)


def _decide(request: Request, deed: Doing, sent: Sent, recall_hit_id: int, to: HitState) -> Response:
    row, version = get_recall_hit(deed.session, recall_hit_id), sent.version()
    try:
        if to == HitState.CONFIRMED:
            confirm_hit(deed, row.id, sent.text("note", 500), sent.tick("out_of_use"), version)
        elif to == HitState.DISMISSED:
            dismiss_hit(deed, row.id, sent.text("reason", 500), version)
        elif to == HitState.SETTLED:
            settle_hit(deed, row.id, sent.text("done", 500), version)
        else:
            look_again(deed, row.id, version)
        sent.done()
    except Mistakes as wrong:
        raise ask_again(request, "recalls/hit.html", sent, wrong, **_hit_shown(row)) from wrong
    return go("/recalls" if to == HitState.DISMISSED else f"/recalls/hits/{row.id}")


def _shown(session: Session, asked: Form) -> dict[str, Any]:
    state = asked.value("state") if asked.value("state") in dict(STATES) else HitState.PROPOSED.value
    customer_id = asked.whole("customer", 1, 2**31 - 1)
    hits = list_recall_hits(session, state, customer_id, limit=SHOWN + 1)
    waiting = list_recall_hits(session, HitState.CONFIRMED, without_letter=True)
    return {
        "hits": hits[:SHOWN],
        "more": len(hits) > SHOWN,
        "state": state,
        "states": STATES,
        "counts": count_recall_hits(session),
        "notices": count_recall_notices(session),
        "lists": list_recall_lists(session),
        "letters": list_recall_letters(session)[:10],
        "to_write": {hit.item.customer_id: hit.item.customer.name for hit in waiting},
    }


def _hit_shown(row: RecallHitRow) -> dict[str, Any]:
    return {"hit": row, "notice": row.recall_notice.notice, "in_use": row.item.state == ItemState.IN_USE}


def _preview_of(session: Session, row: RecallListRow, columns: Columns | None) -> dict[str, Any]:
    file, columns, notices, known, empty = preview_recall_list(session, row, columns)
    form = Form.showing(**{name: columns.get(name) for name in MEANINGS})
    form.mistakes = check_columns(columns, len(file.columns))
    new = [notice for notice in notices if notice.mark not in known]
    return {
        "file": row,
        "content": file,
        "form": form,
        "columns": list(enumerate(file.columns)),
        "meanings": [(name, word) for name, (word, _) in MEANINGS.items()],
        "notices": [(notice, notice.mark in known) for notice in notices[:SHOWN]],
        "more": max(len(notices) - SHOWN, 0),
        "new": len(new),
        "known": len(known),
        "left_out": empty,
    }


def _columns_from(form: Form) -> Columns:
    return {name: form.whole(name, 0, 500) for name in MEANINGS}
