"""The forms for an item: a new one with the usual values of its equipment type or like another, and a change to one."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Deed
from app.actions.items import add_item, change_item, has_longer_interval, interval_months_of
from app.actions.premises import add_location
from app.rules.equipment import Cord, Environment, ItemFacts
from app.rules.interval_decisions import DUTY, describe_months
from app.rules.intervals import suggest_interval
from app.rules.items import MONTHS_MOST, ItemDetails, next_number
from app.rules.verdicts import Mistakes
from app.store.equipment_types import EquipmentTypeRow, get_equipment_type, list_equipment_types
from app.store.items import ItemRow, get_item, list_item_numbers
from app.store.premises import PremisesRow, get_premises
from app.web.facts_fields import list_facts_choices, new_facts, show_facts
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, ask_again, go, page
from app.web.sequence_fields import list_asked_checks, list_sequence_choices, new_sequence, show_sequence

routes = APIRouter()
#: What a person types about one item alone; it stays when another equipment type is chosen.
OWN_FIELDS = (
    "number", "description", "location_id", "new_location", "make", "model", "serial", "batch", "notes",
    "interval_months", "interval_reason",
)  # fmt: skip


@routes.get("/premises/{premises_id}/items/new")
def new_item(request: Request, session: Reading, asked: Asked, premises_id: int) -> Response:
    premises = get_premises(session, premises_id)
    form = _empty_form(session, premises, asked)
    saved_id = asked.whole("saved", 1, 2**31)
    saved = get_item(session, saved_id) if saved_id else None
    return page(request, "items/new.html", form=form, saved=saved, **_around(session, premises, form))


@routes.post("/premises/{premises_id}/items")
def save_new_item(request: Request, deed: Doing, sent: Sent, premises_id: int) -> Response:
    premises = get_premises(deed.session, premises_id)
    try:
        details = _details_from(deed, sent, premises)
        row = add_item(deed, details)
    except Mistakes as wrong:
        around = _around(deed.session, premises, sent)
        raise ask_again(request, "items/new.html", sent, wrong, saved=None, **around) from wrong
    match sent.value("then"):
        case "like":
            return go(f"/premises/{premises.id}/items/new?like={row.id}&saved={row.id}")
        case "other":
            return go(f"/premises/{premises.id}/items/new?location={row.location_id}&saved={row.id}")
    return go(f"/items/{row.id}")


@routes.get("/items/{item_id}/edit")
def edit_item(request: Request, session: Reading, asked: Asked, item_id: int) -> Response:
    row = get_item(session, item_id)
    form = Form.showing(version=row.version, **_own_values(row), number=row.number, serial=row.serial)
    form.values = {name: value for name, value in form.values.items() if not name.startswith("interval_")}
    form.values |= show_facts(row.facts) | show_sequence(row.own_checks)
    form.values["visit"] = str(asked.whole("visit", 1, 2**31) or "")
    around = _around(session, row.premises, form)
    return page(request, "items/edit.html", form=form, item=row, now=describe_months(interval_months_of(row)), **around)


@routes.post("/items/{item_id}")
def save_item(request: Request, deed: Doing, sent: Sent, item_id: int) -> Response:
    row = get_item(deed.session, item_id)
    try:
        details = _details_from(deed, sent, row.premises, row)
        change_item(deed, item_id, details, sent.version())
    except Mistakes as wrong:
        around = _around(deed.session, row.premises, sent) | {"now": describe_months(interval_months_of(row))}
        raise ask_again(request, "items/edit.html", sent, wrong, item=row, **around) from wrong
    # From the visit sheet people come back to it.
    visit_id = sent.whole("visit", 1, 2**31)
    return go(f"/visits/{visit_id}/items/{item_id}" if visit_id else f"/items/{item_id}")


def _empty_form(session: Session, premises: PremisesRow, asked: Form) -> Form:
    """The form as it opens: like an item that is there, or with a type's usual values, under what was typed already."""
    like_id = asked.whole("like", 1, 2**31)
    chosen = _chosen_type(session, asked) or _type_named(session, asked.whole("type", 1, 2**31))
    typed = {name: asked.value(name) for name in OWN_FIELDS if asked.value(name)}
    facts, own_checks = ItemFacts(cord=Cord()), None
    form = Form.showing(location_id=asked.whole("location", 1, 2**31))
    if like_id is not None:
        item = get_item(session, like_id)
        facts, own_checks, form = item.facts, item.own_checks, Form.showing(**_own_values(item))
    elif chosen is not None:
        facts, own_checks = chosen.facts, chosen.own_checks
        form.values |= {"equipment_type_id": str(chosen.id), "description": chosen.name}
        if typed.get("description") in [kind.name for kind in list_equipment_types(session)]:
            del typed["description"]  # an earlier type's name, not a person's words
    elif asked.value("kind"):
        facts, own_checks = new_facts(Form(dict(asked.values))), new_sequence(Form(dict(asked.values)))
    form.values |= show_facts(facts) | show_sequence(own_checks) | typed
    if not form.value("number"):
        form.values["number"] = next_number(list_item_numbers(session, premises.customer_id))
    if not form.value("location_id") and len(premises.locations) == 1:
        form.values["location_id"] = str(premises.locations[0].id)
    return form


def _own_values(row: ItemRow) -> dict[str, Any]:
    """What an item's form shows beside its facts, apart from number and serial number, which no other item has."""
    names = ("description", "location_id", "equipment_type_id", "make", "model", "batch", "notes")
    # A longer interval than usual was decided for that one alone.
    own = () if has_longer_interval(row) else ("interval_months", "interval_reason")
    return {name: getattr(row, name) for name in (*names, *own)}


def _details_from(deed: Deed, sent: Form, premises: PremisesRow, row: ItemRow | None = None) -> ItemDetails:
    """What was typed; a location whose name is new is added. row: the item that is changed, whose form has no interval.
    Raises Mistakes.
    """
    if row is not None:
        kept = {"interval_months": str(row.interval_months or ""), "interval_reason": row.interval_reason}
        sent.values = kept | sent.values
    chosen = _chosen_type(deed.session, sent)
    details = ItemDetails(
        number=sent.text("number", 20),
        description=sent.text("description", needed="Say what it is."),
        location_id=0,
        equipment_type_id=chosen.id if chosen else None,
        make=sent.text("make"),
        model=sent.text("model"),
        serial=sent.text("serial"),
        batch=sent.text("batch", 60),
        facts=new_facts(sent),
        interval_months=sent.whole("interval_months", 1, MONTHS_MOST),
        interval_reason=sent.text("interval_reason", 400),
        notes=sent.lines("notes"),
        own_checks=new_sequence(sent),
    )
    location_id = _location_from(sent, premises)
    sent.done()
    if location_id is None:
        location_id = add_location(deed, premises.id, sent.text("new_location", 80)).id
    return ItemDetails(**vars(details) | {"location_id": location_id})


def _location_from(sent: Form, premises: PremisesRow) -> int | None:
    """The location chosen, or the one whose name was typed; nothing where that is a new one."""
    name = sent.text("new_location", 80)
    if name:
        return next((place.id for place in premises.locations if place.name.casefold() == name.casefold()), None)
    chosen = sent.whole("location_id", 1, 2**31)
    if chosen not in [place.id for place in premises.locations]:
        field = "location_id" if premises.locations else "new_location"
        sent.blame(field, "Say where the item is; type a new location if it is not listed.")
    return chosen


def _chosen_type(session: Session, form: Form) -> EquipmentTypeRow | None:
    return _type_named(session, form.whole("equipment_type_id", 1, 2**31))


def _type_named(session: Session, type_id: int | None) -> EquipmentTypeRow | None:
    return get_equipment_type(session, type_id) if type_id else None


def _around(session: Session, premises: PremisesRow, form: Form) -> dict[str, Any]:
    """What the form's page needs beside the form: the choices, and the interval that holds where none is set."""
    chosen = _chosen_type(session, Form(dict(form.values)))
    facts = new_facts(Form(dict(form.values)))
    return {
        "premises": premises,
        "locations": [(place.id, place.name) for place in premises.locations],
        "types": [(kind.id, kind.name) for kind in list_equipment_types(session)],
        "choices": list_facts_choices(form),
        "sequence": list_sequence_choices(),
        "asked_checks": list_asked_checks(session, form),
        "type_months": chosen.interval_months if chosen else None,
        "advice": suggest_interval(facts, Environment(premises.environment)),
        "duty": DUTY,
    }
