"""Tasks from customers: the list, one with its words and photo, who takes it, and what was done.

A technician sees those that are theirs; nothing on these pages is about money.
"""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.tasks import finish_task, open_task_again, take_task
from app.rules.people import Person, Role
from app.rules.tasks import TaskKind
from app.rules.verdicts import Mistakes
from app.store.database import Missing
from app.store.items import list_open_defects
from app.store.people import find_person, list_people
from app.store.tasks import TaskRow, get_task, get_task_photo, list_tasks
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, ThePerson, ask_again, go, jpeg, page

routes = APIRouter()
SHOWN = [("waiting", "Waiting"), ("mine", "Mine"), ("done", "Done")]
KINDS = [(kind.value, kind.word) for kind in TaskKind]
NOTE_MOST = 500


@routes.get("/tasks")
def list_all_tasks(request: Request, session: Reading, person: ThePerson, asked: Asked) -> Response:
    shown = asked.value("show") if asked.value("show") in dict(SHOWN) else "waiting"
    kind = asked.value("kind") if asked.value("kind") in dict(KINDS) else ""
    search = asked.text("q")
    own = person.id if shown == "mine" or person.role == Role.TECHNICIAN else None
    return page(
        request,
        "tasks/list.html",
        tasks=list_tasks(session, own, shown == "done", search, kind),
        shown=shown,
        kind=kind,
        search=search,
        kinds=KINDS,
        shows=SHOWN if person.role != Role.TECHNICIAN else [each for each in SHOWN if each[0] != "mine"],
    )


@routes.get("/tasks/{task_id}")
def show_task(request: Request, session: Reading, person: ThePerson, task_id: int) -> Response:
    row = _visible(session, person, task_id)
    form = Form.showing(person_id=row.taken_by_id, version=row.version)
    return page(request, "tasks/show.html", form=form, **_told(session, person, row))


@routes.get("/tasks/{task_id}/photos/{photo_id}")
def show_task_photo(session: Reading, person: ThePerson, task_id: int, photo_id: int) -> Response:
    _visible(session, person, task_id)
    return jpeg(get_task_photo(session, task_id, photo_id).content, f"photo-of-task-{task_id}.jpg")


@routes.post("/tasks/{task_id}/take")
def save_taker(request: Request, deed: Doing, sent: Sent, person: ThePerson, task_id: int) -> Response:
    """Give the task to somebody. A technician can only give back what is theirs."""
    row = _visible(deed.session, person, task_id)
    try:
        taker = sent.whole("person_id", 1, 2**31 - 1)
        if taker is not None and (
            find_person(deed.session, taker) is None or (person.role == Role.TECHNICIAN and taker != person.id)
        ):
            sent.blame("person_id", "Choose one of these.")
        sent.done()
        take_task(deed, task_id, taker, sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "tasks/show.html", sent, wrong, **_told(deed.session, person, row)) from wrong
    return go("/tasks" if person.role == Role.TECHNICIAN and taker is None else f"/tasks/{task_id}")


@routes.post("/tasks/{task_id}/done")
def save_done(request: Request, deed: Doing, sent: Sent, person: ThePerson, task_id: int) -> Response:
    row = _visible(deed.session, person, task_id)
    try:
        note = sent.text("note", NOTE_MOST, needed="Say in a few words what was done.")
        sent.done()
        finish_task(deed, task_id, note, sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "tasks/show.html", sent, wrong, **_told(deed.session, person, row)) from wrong
    return go("/tasks")


@routes.post("/tasks/{task_id}/reopen")
def save_reopening(deed: Doing, task_id: int) -> Response:
    open_task_again(deed, task_id)
    return go(f"/tasks/{task_id}")


def _visible(session: Session, person: Person, task_id: int) -> TaskRow:
    """The task, where the person may see it. Raises Missing, so that nobody learns of one that is not theirs."""
    row = get_task(session, task_id)
    if person.role == Role.TECHNICIAN and row.taken_by_id != person.id:
        raise Missing("task")
    return row


def _told(session: Session, person: Person, row: TaskRow) -> dict[str, Any]:
    people = [each for each in list_people(session) if each.active]
    if person.role == Role.TECHNICIAN:
        people = [each for each in people if each.id == person.id]
    return {
        "task": row,
        "people": [(each.id, each.name) for each in people],
        "defects": list_open_defects(session, row.item_id) if row.item_id is not None else [],
        "office": person.role != Role.TECHNICIAN,
    }
