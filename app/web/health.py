"""For machines: whether the server and its database answer, and that nobody's search engine is wanted here."""

from fastapi import APIRouter, Response
from fastapi.responses import PlainTextResponse

from app.store.firms import find_firm
from app.web.kit import Reading

routes = APIRouter()


@routes.get("/health")
def show_health(session: Reading) -> Response:
    find_firm(session)  # raises, and so answers 500, when the database does not
    return PlainTextResponse("ok\n")


@routes.get("/robots.txt")
def show_robots() -> Response:
    return PlainTextResponse("User-agent: *\nDisallow: /\n")
