"""Taking in a file of entries that a tablet could not send: shown first, then sent one by one as the tablet would."""

from fastapi import APIRouter, Request, Response

from app.web.kit import page

routes = APIRouter()


@routes.get("/entry-files/new")
def new_entry_file(request: Request) -> Response:
    """Choose a file; the browser shows what is in it, and sends each entry with the key that it has."""
    return page(request, "entry_files/new.html")
