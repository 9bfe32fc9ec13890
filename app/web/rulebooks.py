"""The rulebooks, whole: every figure with unit, condition, source, edition and status, and what differs between two."""

from typing import Any

from fastapi import APIRouter, Request, Response

from app.actions.firms import choose_rulebook_settings
from app.rules.rulebooks import RULEBOOKS, Figure, Rulebook
from app.rules.sequences import list_differences
from app.rules.verdicts import Mistakes
from app.store.database import Missing
from app.store.firms import FirmRow, get_firm
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, ask_again, go, page

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


@routes.get("/rulebooks")
def list_rulebooks(request: Request, session: Reading) -> Response:
    return page(request, "rulebooks/list.html", rulebooks=RULEBOOKS.values(), in_use=get_firm(session).rulebook_id)


@routes.get("/rulebooks/compare")
def show_comparison(request: Request, session: Reading, asked: Asked) -> Response:
    """Two rulebooks side by side, where they differ; without a choice, the firm's own and another one."""
    own = get_firm(session).rulebook_id
    other = next(each for each in RULEBOOKS if each != own)
    one, two = _rulebook(asked.value("one") or own), _rulebook(asked.value("two") or other)
    return page(
        request,
        "rulebooks/compare.html",
        form=asked,
        one=one,
        two=two,
        differences=list_differences(one, two),
        choices=[(book.id, book.title) for book in RULEBOOKS.values()],
    )


@routes.get("/rulebooks/{rulebook_id}")
def show_rulebook(request: Request, session: Reading, rulebook_id: str) -> Response:
    firm, rulebook = get_firm(session), _rulebook(rulebook_id)
    chosen = rulebook.with_settings((firm.rulebook_settings or {}).get(rulebook_id, {}))
    form = Form.showing(version=firm.version, **{setting.key: setting.value for setting in chosen.settings})
    return page(request, "rulebooks/show.html", form=form, **_around(chosen, firm))


@routes.post("/rulebooks/{rulebook_id}/settings")
def save_rulebook_settings(request: Request, deed: Doing, sent: Sent, rulebook_id: str) -> Response:
    rulebook = _rulebook(rulebook_id)
    chosen = {setting.key: sent.text(setting.key) for setting in rulebook.settings}
    try:
        choose_rulebook_settings(deed, rulebook_id, chosen, sent.version())
    except Mistakes as wrong:
        around = _around(rulebook, get_firm(deed.session))
        raise ask_again(request, "rulebooks/show.html", sent, wrong, **around) from wrong
    return go(f"/rulebooks/{rulebook_id}#settings")


def _around(rulebook: Rulebook, firm: FirmRow) -> dict[str, Any]:
    parts: dict[str, list[Figure]] = {}
    for figure in rulebook.figures:
        head = figure.key.split(".")[0]
        parts.setdefault(PARTS.get(head, head), []).append(figure)
    return {"rulebook": rulebook, "parts": parts, "in_use": firm.rulebook_id == rulebook.id}


def _rulebook(rulebook_id: str) -> Rulebook:
    if rulebook_id not in RULEBOOKS:
        raise Missing("rulebook")
    return RULEBOOKS[rulebook_id]
