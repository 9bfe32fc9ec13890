"""Sheets and rolls of labels as data: pages of marks in mm, which the template draws without another thought."""

from collections.abc import Sequence
from typing import Any

from app.documents.label_arrangement import arrangement_from
from app.rules.label_sheets import LabelSheetDetails, list_places
from app.rules.labels import MM_PER_INCH, LabelFacts


def labels_from(
    sheet: LabelSheetDetails, labels: Sequence[LabelFacts], firm: tuple[str, ...] = (), start: int = 1
) -> dict[str, Any]:
    """Give the pages of these labels, the first one in place `start`. firm: wordings of who to ask, the longest first.

    Raises ValueError with a sentence for a start that is not on the sheet, and for a label with too little room.
    """
    pages: list[list[dict[str, Any]]] = []
    for label, place in zip(labels, list_places(sheet, len(labels), start), strict=True):
        while len(pages) <= place.page:
            pages.append([])
        for mark in arrangement_from(sheet, label, firm):
            pages[place.page].append(_placed(mark, float(place.x_mm), float(place.y_mm)))
    return {"title": "Labels", "width": f"{sheet.page_mm[0]:f}", "height": f"{sheet.page_mm[1]:f}", "pages": pages}


def _placed(mark: dict[str, Any], x: float, y: float) -> dict[str, Any]:
    """The mark on its page, a code on the nearest dot of the printer, so that its edges stay sharp."""
    placed = {**mark, "x": mark["x"] + x, "y": mark["y"] + y}
    if dots := placed.pop("dots", None):
        dot = float(MM_PER_INCH) / dots
        placed |= {"x": round(placed["x"] / dot) * dot, "y": round(placed["y"] / dot) * dot}
    return {name: round(value, 4) if isinstance(value, float) else value for name, value in placed.items()}
