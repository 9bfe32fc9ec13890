"""Open defects of every customer: what was found, what puts it right, who must act by when; and one with its story."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.defects import see_to_defect
from app.rules.defect_waits import NOTE_MOST, DefectState, Duty, describe_wait, judge_defect
from app.rules.items import ItemState
from app.rules.people import Person
from app.rules.verdicts import Mistakes
from app.store.customers import list_customers
from app.store.defects import (
    OpenDefect,
    find_open_defect,
    get_defect,
    list_defect_steps,
    list_open_defects_of_all,
)
from app.store.items import DefectRow
from app.store.people import find_person, list_people
from app.store.saved_views import list_saved_views
from app.store.tasks import list_tasks
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()
PAGE = 50
STATES = [
    (ItemState.OUT_OF_USE.value, "Item out of use"),
    (ItemState.IN_USE.value, "Item still in use"),
]
WAITS = [("customer", "The customer"), ("firm", "The firm"), ("me", "I myself")]
STANDS = [(state.value, state.value.capitalize()) for state in DefectState]


@dataclass(frozen=True)
class DefectEntry:
    """A defect with how it stands, who must act, and what they must do."""

    open: OpenDefect
    found_on: date
    state: DefectState
    waits_for: str
    who: str
    sentence: str


@routes.get("/defects")
def list_defects_of_all(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    entries = list_defect_entries(session, desk, person, asked)
    customer_id, state, waits, stands = _asked(asked)
    start = asked.whole("from", 1, 10**6) or 1
    kept = {"customer": customer_id, "state": state, "waits": waits, "stands": stands}
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
        stands=stands,
        customers=[(row.id, row.name) for row in list_customers(session)],
        states=STATES,
        waiting=WAITS,
        standing=STANDS,
        views=list_saved_views(session, person.id, "/defects"),
        today=desk.today,
    )


def list_defect_entries(session: Session, desk: Desk, person: Person, asked: Form) -> list[DefectEntry]:
    """All open defects that the choices in the address leave."""
    customer_id, state, waits, stands = _asked(asked)
    entries = [show_entry(desk, found) for found in list_open_defects_of_all(session, customer_id, state)]
    if waits == "me":
        entries = [entry for entry in entries if entry.open.defect.duty_person_id == person.id]
    elif waits:
        entries = [entry for entry in entries if entry.waits_for == waits]
    return [entry for entry in entries if stands in ("", entry.state)]


def _asked(asked: Form) -> tuple[int | None, str, str, str]:
    """Customer, state of the item, who must act, and how the defect stands."""
    state, waits, stands = (
        next((value for value, _ in known if value == asked.value(name)), "")
        for name, known in (("state", STATES), ("waits", WAITS), ("stands", STANDS))
    )
    return asked.whole("customer", 1, 2**31 - 1), state, waits, stands


@routes.get("/defects/{defect_id}")
def show_defect(request: Request, session: Reading, desk: TheDesk, person: ThePerson, defect_id: int) -> Response:
    row = get_defect(session, defect_id)
    form = Form.showing(duty=row.duty, person_id=row.duty_person_id, act_by=row.act_by, version=row.version)
    return page(request, "defects/show.html", form=form, **_told(session, desk, row, person.sees_money))


@routes.post("/defects/{defect_id}")
def save_defect(request: Request, desk: TheDesk, deed: Doing, sent: Sent, defect_id: int) -> Response:
    """Who must act, by when, and a note for the history."""
    row = get_defect(deed.session, defect_id)
    try:
        duty = sent.choice("duty", Duty, Duty.RULES)
        person_id = sent.whole("person_id", 1, 2**31 - 1)
        if person_id is not None and find_person(deed.session, person_id) is None:
            sent.blame("person_id", "Choose who is to act.")
        act_by = sent.day("act_by")
        note = sent.text("note", NOTE_MOST)
        sent.done()
        see_to_defect(deed, defect_id, duty, person_id, act_by, note, sent.version())
    except Mistakes as wrong:
        told = _told(deed.session, desk, row, True)
        raise ask_again(request, "defects/show.html", sent, wrong, **told) from wrong
    return go(f"/defects/{defect_id}")


def show_entry(desk: Desk, found: OpenDefect) -> DefectEntry:
    """A defect as a page shows it."""
    defect = found.defect
    said_on = defect.said_done_at.astimezone(desk.zone).date() if defect.said_done_at else None
    wait = describe_wait(found.item.state, found.retest_on, desk.today, defect.duty, said_on)
    who = "The customer" if wait.waits_for == "customer" else found.duty_name or "The firm"
    return DefectEntry(
        found,
        defect.found_at.astimezone(desk.zone).date(),
        judge_defect(defect.act_by, said_on, desk.today),
        wait.waits_for,
        who,
        wait.sentence,
    )


def _told(session: Session, desk: Desk, row: DefectRow, may_change: bool) -> dict[str, Any]:
    found = find_open_defect(session, row.id)
    people = [each for each in list_people(session) if each.active]
    return {
        "defect": row,
        "item": row.item,
        "entry": show_entry(desk, found) if found else None,
        "found_on": row.found_at.astimezone(desk.zone).date(),
        "steps": list_defect_steps(session, row.id),
        "tasks": list_tasks(session, done=None, item_id=row.item_id),
        "people": [(each.id, each.name) for each in people],
        "duties": [
            (Duty.RULES.value, "Whoever is next, as worked out here"),
            (Duty.CUSTOMER.value, "The customer"),
            (Duty.FIRM.value, "The firm"),
            (Duty.PERSON.value, "Somebody of the firm, named below"),
        ],
        "may_change": may_change,
        "today": desk.today,
    }
