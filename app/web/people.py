"""The people of the firm: who may sign in, and as what."""

from typing import Any

from fastapi import APIRouter, Request, Response

from app.actions.people import add_person, change_password, change_person
from app.rules.people import PASSWORD_LEAST, PersonDetails, Role
from app.rules.verdicts import Mistakes
from app.store.people import PersonRow, get_person, list_people
from app.web.fields import Form
from app.web.kit import AskAgain, Asked, Doing, Reading, Sent, ask_again, go, page
from app.web.passwords import new_password

routes = APIRouter()

ROLES = [
    (Role.TECHNICIAN.value, "Technician: visits, items and readings; sees no money"),
    (Role.OFFICE.value, "Office: customers, bookings, papers and money"),
    (Role.OWNER.value, "Owner: everything, with settings, people and prices"),
]
SAVED = {
    "added": "can sign in now.",
    "changed": "is saved.",
    "password": "has a new password and is signed out everywhere.",
}


@routes.get("/people")
def list_everybody(request: Request, session: Reading, asked: Asked) -> Response:
    people = list_people(session)
    names = {str(row.id): row.name for row in people}
    saved = SAVED.get(asked.value("saved"), "")
    name = names.get(asked.value("id"), "")
    return page(request, "people/list.html", people=people, saved=f"{name} {saved}" if name and saved else "")


@routes.get("/people/new")
def new_person(request: Request) -> Response:
    form = Form({"role": Role.TECHNICIAN.value, "active": "yes"})
    return page(request, "people/new.html", form=form, **_choices())


@routes.post("/people")
def save_new_person(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        password = new_password(sent)
        added = add_person(deed, _details_from(sent, active=True), password)
        sent.done()
    except Mistakes as wrong:
        raise ask_again(request, "people/new.html", sent, wrong, **_choices()) from wrong
    return go(f"/people?saved=added&id={added.id}")


@routes.get("/people/{person_id}/edit")
def edit_person(request: Request, session: Reading, person_id: int) -> Response:
    row = get_person(session, person_id)
    return page(request, "people/edit.html", form=_form_of(row), secret=Form(), row=row, **_choices())


@routes.post("/people/{person_id}")
def save_person(request: Request, deed: Doing, sent: Sent, person_id: int) -> Response:
    row = get_person(deed.session, person_id)
    try:
        change_person(deed, person_id, _details_from(sent, active=sent.tick("active")), sent.version())
        sent.done()
    except Mistakes as wrong:
        raise ask_again(request, "people/edit.html", sent, wrong, secret=Form(), row=row, **_choices()) from wrong
    return go(f"/people?saved=changed&id={person_id}")


@routes.post("/people/{person_id}/password")
def save_person_password(request: Request, deed: Doing, sent: Sent, person_id: int) -> Response:
    row = get_person(deed.session, person_id)
    try:
        change_password(deed, person_id, new_password(sent))
        sent.done()
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        again = page(request, "people/edit.html", status=422, form=_form_of(row), secret=sent, row=row, **_choices())
        raise AskAgain(again) from wrong
    return go(f"/people?saved=password&id={person_id}")


def _details_from(sent: Form, active: bool) -> PersonDetails:
    role = sent.choice("role", Role)
    return PersonDetails(sent.text("name"), sent.text("email"), role, sent.text("initials", most=5), active)


def _form_of(row: PersonRow) -> Form:
    values = {"name": row.name, "email": row.email, "role": row.role, "initials": row.initials}
    return Form(values | {"active": "yes" if row.active else "", "version": str(row.version)})


def _choices() -> dict[str, Any]:
    return {"roles": ROLES, "least": PASSWORD_LEAST}
