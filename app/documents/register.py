"""The register of a premises or a customer as data: every item in service on a day, its last test and its next one."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from app.documents.paper_heads import head_from
from app.documents.typesetting import count_from, short_day_from
from app.rules.items import ItemState
from app.rules.papers import PaperHead, PaperKind, RegisterItem, RegisterTotals, count_register
from app.rules.verdicts import Verdict

_NOTES = (
    "This register says what was on record on its day. It proves no test by itself: the certificates of the visits do.",
    "An item that is out of use stays so until a competent person has put it right and it has passed a new test.",
    "The date for a next test is advice that rests on the interval set for the item. The dutyholder decides, and "
    "tests sooner when use, place or people change.",
    "It does not replace the dutyholder’s own duties, the law and codes of practice that apply at the premises, or "
    "work that is reserved for licensed or authorised people.",
)
_EARLIER = (
    "It was drawn up later than the day it shows. Tests and dates are those recorded up to that day; names, places "
    "and numbers are those of the day of issue."
)
_ROOMY = 40  # so many rows are set larger


def register_from(head: PaperHead, items: Sequence[RegisterItem]) -> dict[str, Any]:
    """Give all that the register says; items come by premises and location."""
    totals = count_register(tuple(items), head.as_at)
    groups = [
        {"name": premises, "rows": [_row(item, head) for item in there]}
        for premises, there in groupby(items, lambda item: item.premises)
    ]
    return head_from(PaperKind.REGISTER, "Register of electrical equipment", head) | {
        "summary": {"items": totals.items, "sentence": _sentence(totals), "tallies": _tallies(totals)},
        "groups": groups,
        "roomy": totals.items <= _ROOMY,
        "notes": [*((_EARLIER,) if head.as_at < head.issued_on else ()), *_NOTES],
    }


def _row(item: RegisterItem, head: PaperHead) -> dict[str, Any]:
    serial = f"serial {item.serial}" if item.serial else ""
    product = " ".join(part for part in (item.make, item.model) if part)
    in_use = item.state == ItemState.IN_USE
    due = item.next_due_on if in_use else None
    return {
        "number": item.number,
        "description": item.description,
        "product": ", ".join(part for part in (product, serial) if part),
        "build": item.build,
        "premises": item.premises,
        "location": item.location,
        "verdict": item.last_verdict.value if item.last_verdict else "",
        "word": item.last_verdict.word if item.last_verdict else "not tested yet",
        "tested": short_day_from(item.last_tested_on),
        "tested_on": item.last_tested_on.isoformat() if item.last_tested_on else "",
        "next_due": short_day_from(due),
        "next_due_on": due.isoformat() if due else "",
        "state": item.state.value,
        "remark": item.state.value if not in_use else "overdue" if due and due < head.as_at else "",
    }


def _sentence(totals: RegisterTotals) -> str:
    if not totals.items:
        return "No item was in service on this day."
    told = [f"{count_from(totals.items, 'item', 'items')} in service."]
    if totals.overdue:
        told.append(f"{totals.overdue:,} overdue for a test.")
    if totals.out_of_use:
        told.append(f"{totals.out_of_use:,} out of use until put right and tested again.")
    if totals.untested:
        told.append(f"{totals.untested:,} not tested yet.")
    return " ".join(told)


def _tallies(totals: RegisterTotals) -> list[dict[str, Any]]:
    found = [
        (Verdict.PASS.value, "passed", totals.passed),
        (Verdict.FAIL.value, "failed", totals.failed),
        (Verdict.DECISION.value, "undecided", totals.undecided),
        (Verdict.INCOMPLETE.value, "not tested yet", totals.untested),
    ]
    return [
        {"verdict": verdict, "word": word, "count": count}
        for verdict, word, count in found
        if count or verdict in (Verdict.PASS.value, Verdict.FAIL.value)
    ]
