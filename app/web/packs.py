"""The pack of a visit: everything that a tablet needs to work on it without the network.

An index says what there is, each part with a mark that changes when it does; the screens are fetched by their marks, a
few at a time, as the same HTML that the pages are made of. A visit that has not started is packed as if it had.
"""

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.visits import fix_judging
from app.rules.fuses import FUSES_A
from app.rules.items import ItemDetails, next_number
from app.rules.people import Person
from app.rules.remedies import Change, list_changes
from app.rules.verdicts import Mistakes
from app.rules.visits import Progress, VisitState
from app.store.equipment_types import EquipmentTypeRow, facts_columns, get_equipment_type, list_equipment_types
from app.store.items import ItemRow, list_item_numbers, list_items_served
from app.store.photos import list_photos_of_visit
from app.store.premises import LocationRow
from app.store.readings import VisitItemRow, count_progress, facts_for_judging_item, list_visit_items
from app.store.reference_checks import facts_of_standing
from app.store.visits import VisitRow, get_visit
from app.web.fields import Form
from app.web.filters import hash_of_build
from app.web.kit import Asked, Reading, TheDesk, ThePerson, page
from app.web.readings import show_screen
from app.web.sheets import show_list, show_new_context, show_new_values
from app.web.tablet_steps import list_units, show_tablet_steps
from app.web.visit_instruments import show_expiry, show_fitness

routes = APIRouter()
BARE = "readings/_bare.html"
#: How many free numbers are proposed for items that are found on site.
FREE_MOST = 200
SCREENS_MOST = 12


@routes.get("/visits/{visit_id}/pack")
def show_pack(
    request: Request, desk: TheDesk, person: ThePerson, session: Reading, asked: Asked, visit_id: int
) -> Response:
    """What there is to keep of a visit, with the list and the form for a new item."""
    visit, rows = _as_started(desk, person, session, visit_id)
    progress = count_progress(session, visit.id) if rows and rows[0].id else Progress(len(rows), 0, 0, 0, 0, 0)
    types = list_equipment_types(session)
    numbers = list_item_numbers(session, visit.customer_id)
    taken = dict.fromkeys(numbers, "") | {row.item.number: _whereabouts(row.item) for row in rows}
    empty = {"number": "", "location": ""}
    photos = _photos(session, visit)
    form = Form.showing(**show_new_values(session, visit, None, None, empty))
    standing = facts_of_standing(session, visit.instrument)
    shared = _shared(visit)
    told = {
        "visit": visit.id,
        "state": visit.state,
        "title": visit.premises.name,
        "customer": visit.customer.name,
        "booked_on": visit.booked_on.isoformat(),
        "person": person.id,
        "build": hash_of_build(),
        "units": list_units(),
        "expiry": show_expiry(visit, standing),
        "list": _html(
            request,
            "readings/sheet.html",
            after=None,
            fitness=show_fitness(visit, standing, person, desk.today),
            **show_list(visit, rows, progress),
        ),
        "new": _html(request, "readings/new.html", form=form, **show_new_context(session, visit, form)),
        "new_type": _html(request, "readings/new_type.html", visit=visit, types=types, carried=empty),
        "put_right": _put_right(request, visit),
        "items": [_item(row, shared, photos) for row in rows],
        "types": [_type(kind, shared) for kind in types],
        "numbers": taken,
        "free": _free_numbers(numbers),
    }
    mark = hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:24]
    if asked.value("mark") == mark:
        return Response(status_code=204)
    return JSONResponse(told | {"mark": mark})


@routes.get("/visits/{visit_id}/pack/screens")
def show_screens(
    request: Request, desk: TheDesk, person: ThePerson, session: Reading, asked: Asked, visit_id: int
) -> Response:
    """The screens of some items, and of some equipment types as a new item of each would have them."""
    visit, rows = _as_started(desk, person, session, visit_id)
    items, types = _ids(asked, "items"), _ids(asked, "types")
    wanted = [row for row in rows if row.item_id in items]
    shared, photos = _shared(visit), _photos(session, visit)
    screens = [_screen(request, session, row) | {"mark": _item(row, shared, photos)["mark"]} for row in wanted]
    return JSONResponse({"items": screens, "types": [_type_screen(request, session, visit, each) for each in types]})


def _ids(asked: Form, name: str) -> list[int]:
    texts = [text for text in asked.value(name).split(",") if text]
    if len(texts) > SCREENS_MOST or not all(text.isdecimal() and len(text) < 10 for text in texts):
        raise Mistakes({name: f"Give at most {SCREENS_MOST} ids, with commas between them."})
    return [int(text) for text in texts]


def _as_started(desk: Desk, person: Person, session: Session, visit_id: int) -> tuple[VisitRow, list[VisitItemRow]]:
    """A visit with its items. One that has not started gets those that it serves, and is judged as it would be then.

    The session of a page never commits, so none of this is kept.
    """
    visit = get_visit(session, visit_id)
    if visit.state != VisitState.BOOKED:
        return visit, list_visit_items(session, visit.id)
    fix_judging(desk.deed(session, person), visit)
    served = list_items_served(session, visit.premises_id, visit.due_until)
    return visit, [_unsaved(visit, item, item.location) for item in served]


def _unsaved(visit: VisitRow, item: ItemRow, location: LocationRow) -> VisitItemRow:
    """A row of the sheet as it is before anything is recorded, which belongs to no session."""
    return VisitItemRow(
        visit=visit,
        item=item,
        item_id=item.id,
        location=location,
        location_id=location.id,
        description=item.description,
        own_checks=item.own_checks,
        after_repair=False,
        advice=[],
        missing=[],
        not_tested="",
        not_tested_note="",
        note="",
        rulebook_id="",
        version=1,
        **facts_columns(item.facts),
    )


def _photos(session: Session, visit: VisitRow) -> dict[int, list[int]]:
    """The ids of the photos of a visit, by the id of the item's row on it."""
    found = list_photos_of_visit(session, visit.id)
    return {row_id: [photo.id for photo in photos] for row_id, photos in found.items()}


def _item(row: VisitItemRow, shared: list[Any], photos: dict[int, list[int]]) -> dict[str, Any]:
    item, own = row.item, photos.get(row.id, [])
    return {
        "id": row.item_id,
        "number": item.number,
        "description": row.description,
        "location": row.location_id,
        "place": row.location.name,
        "done": row.done,
        "verdict": row.verdict or "",
        "version": row.version,
        "photos": own,
        "mark": _mark(row.item_id, row.version, item.version, row.id, own, shared),
    }


def _type(kind: EquipmentTypeRow, shared: list[Any]) -> dict[str, Any]:
    return {"id": kind.id, "name": kind.name, "mark": _mark(kind.id, kind.version, shared)}


def _shared(visit: VisitRow) -> list[Any]:
    """What every screen of a visit hangs on."""
    method = [visit.lead_ohms, visit.both_ways, visit.conductor_c]
    judged = [visit.rulebook_id, visit.decision_rule, visit.house_limits, visit.rulebook_settings, visit.dielectric_by]
    # Ranges that are changed at the office change what a guard band accepts, so the screens with them are fetched anew.
    ranges = [each.as_range for each in visit.instrument.ranges]
    return [hash_of_build(), visit.state, visit.instrument_id, ranges, *method, *judged]


def _mark(*parts: Any) -> str:
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]


def _screen(request: Request, session: Session, row: VisitItemRow) -> dict[str, Any]:
    facts = row.item.facts
    steps = show_tablet_steps(facts, facts_for_judging_item(row, row.item.own_checks, row.after_repair))
    like = show_new_values(session, row.visit, None, row.item_id, {"number": "", "location": ""}) if row.item_id else {}
    return {
        "id": row.item_id,
        "html": _html(request, "readings/show.html", **show_screen(session, row)),
        "like": {name: value for name, value in Form.showing(**like).values.items() if name != "number"},
        "line": _html(request, "readings/_facts_line.html", facts=facts),
        "changes": [change.value for change in list_changes(facts)],
        **steps,
    }


def _put_right(request: Request, visit: VisitRow) -> str:
    """The form of putting an item right, the same for every item: a tablet sets its address and leaves out changes."""
    address = f"/visits/{visit.id}/items/0"
    nothing = Form.showing(version="")
    context = {"address": address, "version": "", "form": nothing, "changes": list(Change), "fuses": FUSES_A}
    return _html(request, "readings/_put_right.html", **context)


def _type_screen(request: Request, session: Session, visit: VisitRow, type_id: int) -> dict[str, Any]:
    kind = get_equipment_type(session, type_id)
    values = show_new_values(session, visit, kind.id, None, {"number": "", "location": ""})
    item = _new_item(visit, kind)
    screen = _screen(request, session, _unsaved(visit, item, item.location))
    like = {name: value for name, value in Form.showing(**values).values.items() if name != "number"}
    return screen | {"id": kind.id, "like": like, "mark": _type(kind, _shared(visit))["mark"]}


def _new_item(visit: VisitRow, kind: EquipmentTypeRow) -> ItemRow:
    """A new item of a type, which belongs to no session."""
    details = ItemDetails("", kind.name, 0, facts=kind.facts)
    item = ItemRow(
        number="",
        description=kind.name,
        customer_id=visit.customer_id,
        premises_id=visit.premises_id,
        own_checks=kind.own_checks,
        make="",
        model="",
        serial="",
        state="in use",
        version=1,
        **facts_columns(details.facts),
    )
    item.location = LocationRow(id=0, name="", position=0, premises_id=visit.premises_id)
    item.premises, item.equipment_type = visit.premises, kind
    item.id = 0
    return item


def _whereabouts(item: ItemRow) -> str:
    return f"{item.description}, {item.location.name}"


def _free_numbers(numbers: Sequence[str]) -> list[str]:
    taken, free = list(numbers), []
    highest = next_number(taken)
    for _ in range(FREE_MOST):
        free.append(highest)
        highest = next_number([highest])
    return free


def _html(request: Request, name: str, **context: Any) -> str:
    return bytes(page(request, name, layout=BARE, as_started=True, **context).body).decode()
