"""Premises: the register of what is there, with its search and filters, and the details of the address."""

from collections.abc import Callable
from datetime import date, timedelta
from itertools import groupby

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.premises import add_premises, change_premises
from app.rules.customers import PremisesDetails
from app.rules.equipment import Construction, Environment
from app.rules.items import ItemState
from app.rules.verdicts import Mistakes
from app.rules.visits import VisitState
from app.store.customers import get_customer
from app.store.equipment_types import list_equipment_types
from app.store.items import ItemRow, list_items
from app.store.premises import get_premises
from app.store.registers import SOON_DAYS, count_items_at_locations, count_register
from app.store.saved_views import list_saved_views
from app.store.visits import VisitRow, list_visits
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()
PAGE = 300
FILTERS = ("q", "location", "type", "class", "state")
#: What the register can be narrowed to beside the states that are kept.
DUE_WORDS = {"overdue": "Overdue", "soon": f"Due within {SOON_DAYS} days", "untested": "Not tested yet"}


@routes.get("/customers/{customer_id}/premises/new")
def new_premises(request: Request, session: Reading, customer_id: int) -> Response:
    customer = get_customer(session, customer_id)
    form = Form.showing(address=customer.address, postcode=customer.postcode, environment=Environment.OFFICE)
    return page(request, "premises/new.html", form=form, customer=customer, environments=_environments())


@routes.post("/customers/{customer_id}/premises")
def save_new_premises(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    customer = get_customer(deed.session, customer_id)
    try:
        row = add_premises(deed, customer_id, _details_from(sent))
    except Mistakes as wrong:
        raise ask_again(
            request, "premises/new.html", sent, wrong, customer=customer, environments=_environments()
        ) from wrong
    return go(f"/premises/{row.id}")


@routes.get("/premises/{premises_id}")
def show_premises(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked, premises_id: int
) -> Response:
    row = get_premises(session, premises_id)
    values = {name: asked.text(name) for name in FILTERS}
    found = list_items_asked(session, row.id, asked, desk.today)
    start = min(asked.whole("from", 1) or 1, max(len(found), 1))
    shown = found[start - 1 : start - 1 + PAGE]
    visits = list_visits(session, premises_id=row.id, limit=200)
    return page(
        request,
        "premises/show.html",
        premises=row,
        groups=[(location, list(items)) for location, items in groupby(shown, lambda item: item.location)],
        values=values,
        filtered=any(values.values()),
        pick_locations=[(location.id, location.name) for location in row.locations],
        pick_types=[(kind.id, kind.name) for kind in list_equipment_types(session)],
        pick_classes=[(construction.value, construction.word) for construction in Construction],
        pick_states=[*((state.value, state.value.capitalize()) for state in ItemState), *DUE_WORDS.items()],
        first=start,
        last=start - 1 + len(shown),
        total=len(found),
        size=PAGE,
        counts=count_register(session, row.id, desk.today),
        by_location=count_items_at_locations(session, row.id),
        next_visit=_next_visit(visits),
        last_visit=next((visit for visit in visits if visit.state == VisitState.FINISHED), None),
        views=list_saved_views(session, person.id, f"/premises/{row.id}"),
        today=desk.today,
        soon=desk.today + timedelta(days=SOON_DAYS),
    )


@routes.get("/premises/{premises_id}/edit")
def edit_premises(request: Request, session: Reading, premises_id: int) -> Response:
    row = get_premises(session, premises_id)
    form = Form.showing(version=row.version, **vars(row.details))
    return page(request, "premises/edit.html", form=form, premises=row, environments=_environments())


@routes.post("/premises/{premises_id}")
def save_premises(request: Request, deed: Doing, sent: Sent, premises_id: int) -> Response:
    row = get_premises(deed.session, premises_id)
    try:
        change_premises(deed, premises_id, _details_from(sent), sent.version())
    except Mistakes as wrong:
        raise ask_again(
            request, "premises/edit.html", sent, wrong, premises=row, environments=_environments()
        ) from wrong
    return go(f"/premises/{premises_id}")


def _details_from(sent: Form) -> PremisesDetails:
    details = PremisesDetails(
        name=sent.text("name", needed="Give the premises a name."),
        address=sent.lines("address", 400),
        postcode=sent.text("postcode", 20).upper(),
        environment=sent.choice("environment", Environment, Environment.OFFICE),
        access_notes=sent.lines("access_notes"),
        miles=sent.number("miles", "0", "2000"),
    )
    if not details.address:
        sent.blame("address", "Give the address; the certificate must say where the work was done.")
    sent.done()
    return details


def _environments() -> list[tuple[str, str]]:
    return [(place.value, place.word[:1].upper() + place.word[1:]) for place in Environment]


def list_items_asked(session: Session, premises_id: int, asked: Form, today: date) -> list[ItemRow]:
    """The items that the filters leave; a filter that cannot be read leaves everything."""
    state = asked.text("state")
    found = list_items(
        session,
        premises_id,
        search=asked.text("q"),
        location_id=asked.whole("location", 1, 2**31),
        equipment_type_id=asked.whole("type", 1, 2**31),
        construction=asked.text("class"),
        state=state if state in list(ItemState) else "",
    )
    keeps = _is_due(state, today)
    return [item for item in found if keeps(item)]


def _is_due(word: str, today: date) -> Callable[[ItemRow], bool]:
    soon = today + timedelta(days=SOON_DAYS)

    def keeps(item: ItemRow) -> bool:
        if word not in DUE_WORDS:
            return True
        if item.state != ItemState.IN_USE:
            return False
        if word == "untested":
            return item.last_tested_on is None
        due = item.next_due_on
        return due is not None and (due < today if word == "overdue" else today <= due <= soon)

    return keeps


def _next_visit(visits: list[VisitRow]) -> VisitRow | None:
    live = [visit for visit in visits if visit.state in (VisitState.BOOKED, VisitState.UNDER_WAY)]
    return min(live, key=lambda visit: (visit.booked_on, visit.id), default=None)
