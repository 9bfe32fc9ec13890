"""The list of open defects as data: what was found on each item, what puts it right, and who must act."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from app.documents.paper_heads import head_from
from app.documents.typesetting import count_from, short_day_from
from app.rules.items import ItemState
from app.rules.papers import OpenDefect, PaperHead, PaperKind

_NOTES = (
    "Keep every item on this list out of use, unplugged and where nobody takes it, until a competent person has put it "
    "right and it has passed a new test. A repair alone closes no defect.",
    "Whoever has control of the equipment, the dutyholder, answers for this under the law and the codes of practice "
    "that apply at the premises. This list does not replace those duties, or work that is reserved for licensed or "
    "authorised people.",
    "Equipment that is not on this list was not found defective at its last test. It can be damaged at any time after "
    "one: look it over before each use.",
)
_EARLIER = (
    "It was drawn up later than the day it shows: it lists what had been found by that day and was not put right on it."
)


def defect_list_from(head: PaperHead, defects: Sequence[OpenDefect]) -> dict[str, Any]:
    """Give all that the list says; defects come by premises, location and item."""
    items = [list(found) for _, found in groupby(defects, lambda defect: (defect.premises, defect.number))]
    groups = [
        {"name": premises, "rows": [_row(found) for found in there]}
        for premises, there in groupby(items, lambda found: found[0].premises)
    ]
    out_of_use = sum(1 for found in items if found[0].state == ItemState.OUT_OF_USE)
    data = head_from(PaperKind.DEFECT_LIST, "Open defects", head)
    if not head.dutyholder:
        data["particulars"].append(["Dutyholder", "Not named: whoever has control of the equipment"])
    return data | {
        "summary": {
            "items": len(items),
            "defects": len(defects),
            "sentence": _sentence(len(items), len(defects), out_of_use),
            "tallies": [],
        },
        "groups": groups,
        "notes": [*((_EARLIER,) if head.as_at < head.issued_on else ()), *_NOTES],
    }


def _sentence(items: int, defects: int, out_of_use: int) -> str:
    if not items:
        return "No defect is open."
    said = f"{count_from(defects, 'defect is', 'defects are')} open on {count_from(items, 'item', 'items')}."
    if out_of_use == items:
        return f"{said} {'It is' if items == 1 else 'All are'} out of use."
    still = items - out_of_use
    return (
        f"{said} {count_from(still, 'item is', 'items are')} still in use: take {'it' if still == 1 else 'them'} out."
    )


def _row(found: list[OpenDefect]) -> dict[str, Any]:
    """One item with its defects; what puts several right is said once where it is the same."""
    item = found[0]
    return {
        "number": item.number,
        "description": item.description,
        "product": item.product,
        "premises": item.premises,
        "location": item.location,
        "state": item.state.value,
        "wrong": [
            {
                "text": f"{defect.found.rstrip('.')}.",
                "found": short_day_from(defect.found_on),
                "found_on": defect.found_on.isoformat(),
                "remedy": f"{defect.remedy.rstrip('.')}." if defect.remedy else "",
            }
            for defect in found
        ],
        "todo": list(dict.fromkeys(f"{defect.remedy.rstrip('.')}." for defect in found if defect.remedy)),
        "duties": [list(duty) for duty in item.duties],
    }
