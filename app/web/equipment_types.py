"""Equipment types with their usual values, from which new items start."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.equipment_types import add_equipment_type, change_equipment_type
from app.rules.equipment import Cord, ItemFacts
from app.rules.interval_decisions import DUTY, REASON_MOST
from app.rules.items import MONTHS_MOST, EquipmentTypeDetails
from app.rules.verdicts import Mistakes
from app.store.equipment_types import EquipmentTypeRow, get_equipment_type, list_equipment_types
from app.store.registers import count_items_of_types
from app.web.facts_fields import list_facts_choices, list_facts_rows, new_facts, show_facts
from app.web.fields import Form
from app.web.interval_evidence import show_doubts
from app.web.kit import Asked, Doing, Reading, Sent, ask_again, go, page
from app.web.sequence_fields import (
    list_asked_checks,
    list_sequence_choices,
    list_sequence_words,
    new_sequence,
    show_sequence,
)

routes = APIRouter()


@routes.get("/equipment-types")
def list_types(request: Request, session: Reading, asked: Asked) -> Response:
    search = asked.text("q")
    everything = list_equipment_types(session)
    found = [
        (row, dict(list_facts_rows(row.facts)), list_sequence_words(row.own_checks))
        for row in everything
        if _holds(row, search)
    ]
    return page(request, "equipment_types/list.html", types=found, search=search, counts=count_items_of_types(session))


@routes.get("/equipment-types/new")
def new_equipment_type(request: Request, session: Reading) -> Response:
    form = Form(show_facts(ItemFacts(cord=Cord())))
    return page(request, "equipment_types/new.html", form=form, **_around(session, form))


@routes.get("/equipment-types/parts/asked-checks")
def part_asked_checks(request: Request, session: Reading, asked: Asked) -> Response:
    """What the rulebooks in use ask of the item in the form, as it is filled in."""
    return page(request, "equipment_types/_asked_checks.html", asked_checks=list_asked_checks(session, asked))


@routes.post("/equipment-types")
def save_new_equipment_type(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        add_equipment_type(deed, _details_from(sent), sent.tick("all_the_same"))
    except Mistakes as wrong:
        around = _around(deed.session, sent) | {"doubts": show_doubts(wrong)}
        raise ask_again(request, "equipment_types/new.html", sent, wrong, **around) from wrong
    return go("/equipment-types")


@routes.get("/equipment-types/{equipment_type_id}/edit")
def edit_equipment_type(request: Request, session: Reading, equipment_type_id: int) -> Response:
    row = get_equipment_type(session, equipment_type_id)
    own = {"interval_months": row.interval_months, "interval_reason": row.interval_reason}
    form = Form.showing(name=row.name, version=row.version, **own)
    form.values |= show_facts(row.facts) | show_sequence(row.own_checks)
    return page(request, "equipment_types/edit.html", form=form, type=row, **_around(session, form))


@routes.post("/equipment-types/{equipment_type_id}")
def save_equipment_type(request: Request, deed: Doing, sent: Sent, equipment_type_id: int) -> Response:
    row = get_equipment_type(deed.session, equipment_type_id)
    try:
        details, seen = _details_from(sent), sent.tick("all_the_same")
        change_equipment_type(deed, equipment_type_id, details, sent.version(), seen)
    except Mistakes as wrong:
        around = _around(deed.session, sent) | {"doubts": show_doubts(wrong)}
        raise ask_again(request, "equipment_types/edit.html", sent, wrong, type=row, **around) from wrong
    return go("/equipment-types")


def _details_from(sent: Form) -> EquipmentTypeDetails:
    details = EquipmentTypeDetails(
        name=sent.text("name", 80, needed="Give the equipment type a name."),
        facts=new_facts(sent),
        interval_months=sent.whole("interval_months", 1, MONTHS_MOST),
        interval_reason=sent.text("interval_reason", REASON_MOST),
        own_checks=new_sequence(sent),
    )
    sent.done()
    return details


def _around(session: Session, form: Form) -> dict[str, Any]:
    return {
        "choices": list_facts_choices(form),
        "sequence": list_sequence_choices(),
        "asked_checks": list_asked_checks(session, form),
        "doubts": (),
        "duty": DUTY,
    }


def _holds(row: EquipmentTypeRow, search: str) -> bool:
    words = f"{row.name} {row.facts.kind.word} {row.facts.construction.word}".casefold()
    return all(word in words for word in search.casefold().split())
