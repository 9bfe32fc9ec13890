"""Bringing in a file whose columns somebody explains before its lines are taken in: the steps that bank statements and
lists of recalls have alike.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fastapi import Request, Response

from app.rules.verdicts import Mistakes
from app.store.uploaded_lists import UploadColumns
from app.web.fields import Form
from app.web.kit import ask_again, go, page

Shown = Callable[[], dict[str, Any]]
"""Gives what a page shows; asked only where it is drawn."""


@dataclass(frozen=True)
class UploadedKind:
    """One kind of file: its address, the folder of its templates and the one on its columns; wanted asks for the file,
    name is what it is called where nobody names it.
    """

    address: str
    templates: str
    columns: str
    wanted: str
    name: str


def save_uploaded(
    request: Request, kind: UploadedKind, sent: Form, keep: Callable[[str, bytes], UploadColumns], shown: Shown
) -> Response:
    """Keep the file that was sent, and go on to its columns."""
    try:
        content = sent.files.get("file")
        if not content:
            raise Mistakes({"file": kind.wanted})
        row = keep(sent.text("name", 100) or kind.name, content)
    except Mistakes as wrong:
        raise ask_again(request, f"{kind.templates}/list.html", sent, wrong, **shown()) from wrong
    return go(f"{kind.address}/{row.id}")


def show_uploaded(request: Request, kind: UploadedKind, row: UploadColumns, preview: Shown) -> Response:
    """What the file comes to, or what came of it where its lines are taken in."""
    if row.content is None:
        return page(request, f"{kind.templates}/done.html", file=row)
    return page(request, f"{kind.templates}/{kind.columns}.html", **preview())


def save_taken(
    request: Request, kind: UploadedKind, take: Callable[[], object], preview: Shown, there: str
) -> Response:
    """Take the lines in by the columns that were said; there is where they are seen then."""
    try:
        take()
    except Mistakes as wrong:
        shown = preview()
        form = shown.pop("form")
        raise ask_again(request, f"{kind.templates}/{kind.columns}.html", form, wrong, **shown) from wrong
    return go(there)
