"""Where the house tests get the environments in which the app draws its pages and its papers."""

from functools import cache
from zoneinfo import ZoneInfo

from jinja2 import Environment

PAPERS = "documents/"


@cache
def web_environment() -> Environment:
    """The environment of the pages, as the app makes it."""
    from app.web.filters import new_environment

    return new_environment(ZoneInfo("Europe/London"))


@cache
def paper_environment() -> Environment:
    """The environment of certificates and invoices, as the renderer makes it."""
    from app.documents import pdf

    return pdf._environment()


def environment_for(name: str) -> tuple[Environment, str]:
    """The environment that draws a template, and the name by which that environment knows it."""
    return (paper_environment(), name.removeprefix(PAPERS)) if name.startswith(PAPERS) else (web_environment(), name)
