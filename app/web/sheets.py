"""The visit sheet: its items by location, finding one by number, and adding one that is not on it yet."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.items import add_item, move_item
from app.actions.premises import add_location
from app.actions.visits import add_to_visit
from app.rules.items import ItemDetails, next_number
from app.rules.labels import parse_label_address
from app.rules.verdicts import Mistakes
from app.rules.visits import Progress, VisitState, may_finish
from app.store.equipment_types import get_equipment_type, list_equipment_types
from app.store.items import ItemRow, find_item_by_number, get_item, list_item_numbers
from app.store.premises import LocationRow
from app.store.readings import VisitItemRow, count_progress, find_visit_item, list_visit_items
from app.store.visits import VisitRow, facts_for_judging, get_visit
from app.web.facts_fields import list_facts_choices, new_facts, show_facts
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, done, go, page
from app.web.sequence_fields import list_asked_checks, list_sequence_choices, new_sequence, show_sequence
from app.web.visit_instruments import show_fitness_of

routes = APIRouter()


@dataclass
class Group:
    """The items of a visit at one location, in the order of their numbers."""

    location: LocationRow
    rows: list[VisitItemRow]

    @property
    def done(self) -> int:
        return sum(row.done for row in self.rows)


@routes.get("/visits/{visit_id}/sheet")
def show_sheet(
    request: Request, desk: TheDesk, person: ThePerson, session: Reading, asked: Asked, visit_id: int
) -> Response:
    visit = get_visit(session, visit_id)
    if visit.state in (VisitState.BOOKED, VisitState.CANCELLED):
        return go(f"/visits/{visit.id}")
    after = asked.whole("after", 1, 2**31)
    context = show_list(visit, list_visit_items(session, visit.id), count_progress(session, visit.id))
    after_row = find_visit_item(session, visit.id, after) if after else None
    fitness = show_fitness_of(session, visit, person, desk.today)
    return page(request, "readings/sheet.html", after=after_row, fitness=fitness, **context)


@routes.get("/visits/{visit_id}/parts/groups")
def part_groups(request: Request, session: Reading, asked: Asked, visit_id: int) -> Response:
    """The items and the line of progress anew, so that two people see each other's saves; and whether the item that
    is open was saved by somebody else since.
    """
    visit = get_visit(session, visit_id)
    rows = list_visit_items(session, visit.id)
    current, version = asked.whole("current", 1, 2**31), asked.whole("version", 1, 2**31)
    open_row = next((row for row in rows if row.item_id == current), None)
    newer = open_row if open_row is not None and version is not None and open_row.version != version else None
    return page(
        request,
        "readings/_groups.html",
        visit=visit,
        groups=list_groups(rows),
        current=current or 0,
        version=version or "",
        done=sum(row.done for row in rows),
        total=len(rows),
        newer=newer,
    )


@routes.get("/visits/{visit_id}/parts/number")
def part_number(request: Request, session: Reading, asked: Asked, visit_id: int) -> Response:
    """Whether an item number is taken, said as soon as it is typed, with the way to the item that has it."""
    visit = get_visit(session, visit_id)
    return page(request, "readings/_number_taken.html", visit=visit, other=_other(session, visit, asked))


@routes.get("/visits/{visit_id}/find")
def show_found(request: Request, session: Reading, asked: Asked, visit_id: int) -> Response:
    """Go to the item with this number, or whose number ends so; else say what there is and offer to add it."""
    visit = get_visit(session, visit_id)
    number = asked.text("number", most=400).upper()
    scanned = parse_label_address(number)
    if scanned is not None and scanned.customer_id == visit.customer_id:
        number = scanned.number
    if not number:
        return go(f"/visits/{visit.id}/sheet")
    if scanned is not None and scanned.customer_id != visit.customer_id:
        return page(request, "readings/strange_label.html", visit=visit, number=scanned.number, digits_only=False)
    rows = list_visit_items(session, visit.id)
    found = _matches(rows, number)
    if len(found) == 1:
        return go(f"/visits/{visit.id}/items/{found[0].item_id}")
    item = find_item_by_number(session, visit.customer_id, number)
    return page(
        request,
        "readings/find.html",
        visit=visit,
        number=number,
        found=found,
        item=item,
        locations=[(row.id, row.name) for row in visit.premises.locations],
        location_id=asked.whole("location") or "",
        form=Form(),
        digits_only=_digits_only(rows),
    )


@routes.get("/visits/{visit_id}/items/new")
def new_item(request: Request, session: Reading, asked: Asked, visit_id: int) -> Response:
    """First the type, as a big list; then the few facts that differ from what is usual for it."""
    visit = get_visit(session, visit_id)
    if visit.state != VisitState.UNDER_WAY:
        return go(f"/visits/{visit.id}")
    type_id, like_id = asked.whole("type", 1, 2**31), asked.whole("like", 1, 2**31)
    carried = {"number": asked.text("number", most=20).upper(), "location": asked.text("location", most=12)}
    if type_id is None and like_id is None and asked.value("type") != "none":
        return page(
            request, "readings/new_type.html", visit=visit, types=list_equipment_types(session), carried=carried
        )
    form = Form.showing(**show_new_values(session, visit, type_id, like_id, carried))
    return page(request, "readings/new.html", form=form, **show_new_context(session, visit, form))


@routes.post("/visits/{visit_id}/items")
def save_new_item(request: Request, deed: Doing, sent: Sent, visit_id: int) -> Response:
    """Add a new item to the register and the visit, or put one that is on the register on the visit; then open it."""
    visit = get_visit(deed.session, visit_id)
    item_id = sent.whole("item_id", 1, 2**31)
    if item_id is not None:
        item = get_item(deed.session, item_id)
        if item.premises_id != visit.premises_id:
            move_item(deed, item.id, sent.needed_whole("location_id", "Say where it is now."))
    else:
        try:
            item = add_item(deed, _details_from(deed, visit, sent))
        except Mistakes as wrong:
            context = show_new_context(deed.session, visit, sent) | {"other": _other(deed.session, visit, sent)}
            raise ask_again(request, "readings/new.html", sent, wrong, **context) from wrong
    row = add_to_visit(deed, visit.id, item.id)
    return done(request, deed, f"/visits/{visit.id}/items/{item.id}", **show_row(row))


def show_list(visit: VisitRow, rows: Sequence[VisitItemRow], progress: Progress) -> dict[str, Any]:
    """What the list of a visit's items shows."""
    return {
        "visit": visit,
        "groups": list_groups(rows),
        "progress": progress,
        "done": progress.done,
        "total": progress.items,
        "next_row": next((row for row in rows if not row.done), None),
        "still_open": may_finish(progress) or "",
        "digits_only": _digits_only(rows),
        "judging": facts_for_judging(visit) if visit.rulebook_id else None,
    }


def show_row(row: VisitItemRow) -> dict[str, Any]:
    """What a tablet is told of an item that it has just sent, or that somebody else has saved."""
    return {
        "item_id": row.item_id,
        "number": row.item.number,
        "description": row.description,
        "version": row.version,
        "verdict": row.verdict or "",
        "not_tested": row.not_tested,
        "by": row.tested_by.name if row.tested_by else "",
    }


def list_groups(rows: Sequence[VisitItemRow]) -> list[Group]:
    """The items by location, in the order in which they come."""
    groups: list[Group] = []
    for row in rows:
        if not groups or groups[-1].location.id != row.location_id:
            groups.append(Group(row.location, []))
        groups[-1].rows.append(row)
    return groups


def show_next(session: Session, row: VisitItemRow) -> str:
    """The address of the next open item after this one in the order of the sheet, or the sheet when none is left."""
    rows = list_visit_items(session, row.visit_id)
    here = next((place for place, each in enumerate(rows) if each.id == row.id), 0)
    following = next((each for each in rows[here + 1 :] + rows[:here] if not each.done), None)
    return f"/visits/{row.visit_id}/items/{following.item_id}" if following else f"/visits/{row.visit_id}/sheet"


def _matches(rows: Sequence[VisitItemRow], number: str) -> list[VisitItemRow]:
    """The items with this number: exactly, else but for leading noughts, else those whose number ends so."""
    plain = number.lstrip("0")
    exact = [row for row in rows if row.item.number == number]
    padded = [row for row in rows if row.item.number.lstrip("0") == plain]
    return exact or padded or [row for row in rows if row.item.number.endswith(number)]


def _digits_only(rows: Sequence[VisitItemRow]) -> bool:
    return all(row.item.number.isdecimal() for row in rows)


def show_new_values(
    session: Session, visit: VisitRow, type_id: int | None, like_id: int | None, carried: dict[str, str]
) -> dict[str, Any]:
    """What the form for a new item begins with: as usual for a type, or as another item."""
    number = carried["number"] or next_number(list_item_numbers(session, visit.customer_id))
    values: dict[str, Any] = {"number": number, "location_id": carried["location"] or _last_location(session, visit)}
    if like_id is not None:
        like = get_item(session, like_id)
        if like.customer_id == visit.customer_id:
            values |= {"description": like.description, "make": like.make, "model": like.model}
            values |= {"equipment_type_id": like.equipment_type_id} | show_facts(like.facts)
            values |= show_sequence(like.own_checks)
            return values | {"location_id": carried["location"] or like.location_id}
    if type_id is not None:
        kind = get_equipment_type(session, type_id)
        values |= {"description": kind.name, "equipment_type_id": kind.id}
        return values | show_facts(kind.facts) | show_sequence(kind.own_checks)
    return values | show_facts(ItemDetails("", "", 0).facts)


def _other(session: Session, visit: VisitRow, form: Form) -> ItemRow | None:
    """The item of this customer that has the number already."""
    number = form.text("number", most=20).upper()
    return find_item_by_number(session, visit.customer_id, number) if number else None


def _last_location(session: Session, visit: VisitRow) -> int | str:
    """Where the last item was saved at this visit; else the only location there is; else nothing."""
    saved = [(row.tested_at, row.location_id) for row in list_visit_items(session, visit.id) if row.tested_at]
    if saved:
        return max(saved)[1]
    return visit.premises.locations[0].id if len(visit.premises.locations) == 1 else ""


def show_new_context(session: Session, visit: VisitRow, form: Form) -> dict[str, Any]:
    facts = new_facts(Form(dict(form.values)))
    unknown_cord = facts.cord is not None and None in (facts.cord.csa_mm2, facts.cord.length_m)
    facts_wrong = any(name not in OWN_FIELDS for name in form.mistakes)
    return {
        "visit": visit,
        "other": None,
        "choices": list_facts_choices(form),
        "sequence": list_sequence_choices(),
        "asked_checks": list_asked_checks(session, form),
        "locations": [(row.id, row.name) for row in visit.premises.locations],
        "facts": facts,
        "open_facts": unknown_cord or facts_wrong or not form.value("equipment_type_id"),
    }


OWN_FIELDS = ("number", "description", "location_id", "new_location", "make", "model", "serial", "equipment_type_id")


def _details_from(deed: Doing, visit: VisitRow, sent: Form) -> ItemDetails:
    place = sent.text("new_location")
    location_id = sent.whole("location_id", 1, 2**31)
    if not place and location_id not in {row.id for row in visit.premises.locations}:
        sent.blame("location_id", "Choose where it is, or name a new location.")
    details = ItemDetails(
        number=sent.text("number", most=20),
        description=sent.text("description", needed="Say what it is."),
        location_id=location_id or 0,
        equipment_type_id=sent.whole("equipment_type_id", 1, 2**31),
        make=sent.text("make"),
        model=sent.text("model"),
        serial=sent.text("serial"),
        facts=new_facts(sent),
        own_checks=new_sequence(sent),
    )
    sent.done()
    if not place:
        return details
    try:
        location = add_location(deed, visit.premises_id, place)
    except Mistakes as wrong:
        raise Mistakes({"new_location": wrong.messages["name"]}) from wrong
    return ItemDetails(**{**vars(details), "location_id": location.id})
