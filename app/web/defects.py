"""Open defects of every customer: what was found, what puts it right, and who must act next."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.rules.defect_waits import describe_wait
from app.rules.items import ItemState
from app.store.customers import list_customers
from app.store.due_work import OpenDefect, list_open_defects_of_all
from app.store.saved_views import list_saved_views
from app.web.fields import Form
from app.web.kit import Asked, Reading, TheDesk, ThePerson, page

routes = APIRouter()
PAGE = 50
STATES = [
    (ItemState.OUT_OF_USE.value, "Item out of use"),
    (ItemState.IN_USE.value, "Item still in use"),
]
WAITS = [("customer", "The customer"), ("firm", "The firm")]


@dataclass(frozen=True)
class DefectEntry:
    """A defect with who must act, and what they must do."""

    open: OpenDefect
    found_on: date
    waits_for: str
    sentence: str


@routes.get("/defects")
def list_defects_of_all(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    customer_id, state, waits = _asked(asked)
    entries = list_defect_entries(session, desk, asked)
    start = asked.whole("from", 1, 10**6) or 1
    kept = {"customer": customer_id, "state": state, "waits": waits}
    return page(
        request,
        "defects/list.html",
        entries=entries[start - 1 : start - 1 + PAGE],
        total=len(entries),
        first=start,
        size=PAGE,
        kept=urlencode({name: value for name, value in kept.items() if value}),
        customer_id=customer_id,
        state_wanted=state,
        waits=waits,
        customers=[(row.id, row.name) for row in list_customers(session)],
        states=STATES,
        waiting=WAITS,
        views=list_saved_views(session, person.id, "/defects"),
        today=desk.today,
    )


def list_defect_entries(session: Session, desk: Desk, asked: Form) -> list[DefectEntry]:
    """All open defects that the choices in the address leave."""
    customer_id, state, waits = _asked(asked)
    entries = []
    for found in list_open_defects_of_all(session, customer_id, state):
        wait = describe_wait(found.item.state, found.retest_on, desk.today)
        if not waits or waits == wait.waits_for:
            found_on = found.defect.found_at.astimezone(desk.zone).date()
            entries.append(DefectEntry(found, found_on, wait.waits_for, wait.sentence))
    return entries


def _asked(asked: Form) -> tuple[int | None, str, str]:
    """Customer, state of the item, and who must act."""
    state = next((value for value, _ in STATES if value == asked.value("state")), "")
    waits = next((value for value, _ in WAITS if value == asked.value("waits")), "")
    return asked.whole("customer", 1, 2**31 - 1), state, waits
