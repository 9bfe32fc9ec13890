"""The rulebooks, whole: what each says for usual items, every figure with its source, and what differs between two."""

from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.firms import choose_rulebook_settings
from app.rules.comparisons import list_answered_parts, list_compared_parts, list_differences
from app.rules.formulas import list_formulas
from app.rules.people import Role
from app.rules.rulebooks import RULEBOOKS, Figure, Rulebook, Status
from app.rules.verdicts import Mistakes
from app.store.customers import list_customers
from app.store.database import Missing
from app.store.firms import get_firm
from app.store.judgings import facts_of_rulebook
from app.store.visits import count_visits_by_rulebook
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, ThePerson, ask_again, go, page

routes = APIRouter()

#: The first part of a figure's key, and the heading it stands under.
PARTS = {
    "earth": "Protective conductor resistance",
    "insulation": "Insulation resistance",
    "current": "Leakage currents",
    "microwave": "Microwave leakage",
    "dielectric": "Dielectric strength",
    "conductor": "Resistance of conductors",
    "fuse": "Plug fuses",
    "earth-test": "Current of the protective conductor test",
    "cord": "Cords",
    "lead": "Extension leads",
    "reel": "Reels",
    "rcd": "RCDs",
    "load": "Load",
}
#: Those that make a rulebook what it is; the others are the same in all of them and stand folded.
OWN = ("earth", "insulation", "current")


@routes.get("/rulebooks")
def list_rulebooks(request: Request, session: Reading) -> Response:
    firm, customers = get_firm(session), list_customers(session)
    counts = {each: sum(row.rulebook_id == each for row in customers) for each in RULEBOOKS}
    return page(request, "rulebooks/list.html", rulebooks=RULEBOOKS.values(), in_use=firm.rulebook_id, customers=counts)


@routes.get("/rulebooks/compare")
def show_comparison(request: Request, session: Reading, asked: Asked) -> Response:
    """Two rulebooks side by side, where they differ; without a choice, the firm's own and another one."""
    own = get_firm(session).rulebook_id
    one = _rulebook(session, asked.value("one") or own)
    two = _rulebook(session, asked.value("two") or next(each for each in RULEBOOKS if each != one.id))
    parts, everything = list_compared_parts(one, two), asked.tick("all")
    agreed = sum(row.same for part in parts for row in part.rows)
    # What differs comes first, within each part as well.
    rows = [sorted(part.rows, key=lambda row: row.same) for part in parts]
    shown = [
        replace(part, rows=tuple(row for row in own if everything or not row.same))
        for part, own in zip(parts, rows, strict=True)
    ]
    differences = list_differences(one, two)
    return page(
        request,
        "rulebooks/compare.html",
        one=one,
        two=two,
        parts=sorted((part for part in shown if part.rows), key=lambda part: not part.differing),
        everything=everything,
        opened=asked.tick("open"),
        agreed=agreed,
        differences=differences,
        heads={key: _head(key) for key, _, _ in differences},
        choices=[(book.id, book.title) for book in RULEBOOKS.values()],
    )


@routes.get("/rulebooks/{rulebook_id}")
def show_rulebook(request: Request, session: Reading, person: ThePerson, asked: Asked, rulebook_id: str) -> Response:
    """One rulebook; with only=memory the figures that nobody has looked up yet."""
    chosen = _rulebook(session, rulebook_id)
    form = Form.showing(version=get_firm(session).version, **{each.key: each.value for each in chosen.settings})
    around = _around(session, chosen, person.role, asked.value("only") == Status.MEMORY)
    return page(request, "rulebooks/show.html", form=form, **around)


@routes.post("/rulebooks/{rulebook_id}/settings")
def save_rulebook_settings(request: Request, deed: Doing, person: ThePerson, sent: Sent, rulebook_id: str) -> Response:
    rulebook = _rulebook(deed.session, rulebook_id)
    chosen = {setting.key: sent.text(setting.key) for setting in rulebook.settings}
    try:
        choose_rulebook_settings(deed, rulebook_id, chosen, sent.version())
    except Mistakes as wrong:
        around = _around(deed.session, rulebook, person.role, False)
        raise ask_again(request, "rulebooks/show.html", sent, wrong, **around) from wrong
    return go(f"/rulebooks/{rulebook_id}#settings")


def _around(session: Session, rulebook: Rulebook, role: Role, unchecked: bool) -> dict[str, Any]:
    firm = get_firm(session)
    figures = [each for each in rulebook.figures if not unchecked or each.status is Status.MEMORY]
    parts: dict[str, list[Figure]] = {}
    for figure in figures:
        parts.setdefault(_head(figure.key), []).append(figure)
    own = {PARTS[each] for each in OWN}
    return {
        "rulebook": rulebook,
        "formulas": list_formulas(rulebook),
        "answers": list_answered_parts(rulebook),
        "own_parts": {head: found for head, found in parts.items() if head in own},
        "shared_parts": {head: found for head, found in parts.items() if head not in own},
        "unchecked": unchecked,
        "from_memory": sum(each.status is Status.MEMORY for each in rulebook.figures),
        "in_use": firm.rulebook_id == rulebook.id,
        "customers": [row for row in list_customers(session) if row.rulebook_id == rulebook.id]
        if role != Role.TECHNICIAN
        else None,
        "visits": count_visits_by_rulebook(session, rulebook.id),
    }


def _head(key: str) -> str:
    first = key.split(".")[0]
    return PARTS.get(first, first)


def _rulebook(session: Session, rulebook_id: str) -> Rulebook:
    """As the firm reads it, without house limits."""
    if rulebook_id not in RULEBOOKS:
        raise Missing("rulebook")
    return facts_of_rulebook(session, rulebook_id)
