"""How far the drawing of a paper is: the bar on its page, which asks for itself anew until the drawing is over."""

from fastapi import APIRouter, Request, Response

from app.actions.drawings import watch_drawing
from app.web.kit import TheDesk, page

routes = APIRouter()
#: So long a request waits for a paper. A short one is there by then; a long one shows its bar.
PATIENCE_SECONDS = 2.5


@routes.get("/drawings/{drawn_paper}/{drawn_id}/parts/progress")
def part_progress(request: Request, desk: TheDesk, drawn_paper: str, drawn_id: int) -> Response:
    """The bar; when nothing is being drawn any more, the browser is told to load the page of the paper anew."""
    drawing = watch_drawing(desk, drawn_paper, drawn_id)
    if drawing is None or not drawing.under_way:
        return Response(headers={"HX-Refresh": "true"})
    return page(request, "drawings/_progress.html", drawing=drawing, drawn_paper=drawn_paper, drawn_id=drawn_id)
