"""Saved views of lists: saving the choices that stand in an address, and dropping them."""

from fastapi import APIRouter, Request, Response

from app.actions.saved_views import drop_view, save_view, tidy_query
from app.rules.saved_views import describe_list
from app.rules.verdicts import Mistakes
from app.web.fields import Form
from app.web.kit import Asked, Doing, Sent, ask_again, go, page

routes = APIRouter()


@routes.get("/views/new")
def new_saved_view(request: Request, asked: Asked) -> Response:
    path, query = asked.value("path"), tidy_query(asked.value("query"))
    form = Form.showing(path=path, query=query)
    return page(request, "saved_views/new.html", form=form, list_name=describe_list(path))


@routes.post("/views")
def save_saved_view(request: Request, deed: Doing, sent: Sent) -> Response:
    path = sent.value("path")
    try:
        row = save_view(deed, sent.text("name"), path, sent.value("query"), sent.tick("shared"))
    except Mistakes as wrong:
        raise ask_again(request, "saved_views/new.html", sent, wrong, list_name=describe_list(path)) from wrong
    return go(f"{row.path}?{row.query}")


@routes.post("/views/{saved_view_id}/remove")
def remove_saved_view(deed: Doing, saved_view_id: int) -> Response:
    return go(drop_view(deed, saved_view_id))
