"""Writes that carry a key, made on a tablet that may send them twice, and answers in JSON for whoever asks so.

The key comes in the header Entry-Key or the hidden field entry_key; Entry-Age says in seconds how long ago it was
done by the tablet's own clock, so that a clock that is a day off makes no difference.
"""

import hashlib
import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

from fastapi import Request, Response
from fastapi.responses import JSONResponse, RedirectResponse
from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.rules.people import Person
from app.rules.verdicts import Mistakes, Refused
from app.store.keyed_writes import find_keyed_write
from app.store.people import get_person
from app.store.visits import get_visit
from app.web.fields import Form

KEY = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
AGE_MOST = timedelta(days=60)
OTHER_CONTENT = "This entry was sent before with other content, which is saved. Nothing was changed."
OTHER_PERSON = "This entry was made by somebody else. It is sent when that person signs in again."
NOT_IN_FORM = ("csrf", "entry_key", "then")


def wants_json(request: Request) -> bool:
    """Whether the answer is for a program, such as the sheet on a tablet, and not for a browser's window."""
    accept = request.headers.get("accept", "")
    return "application/json" in accept and "text/html" not in accept


def key_of(request: Request, form: Form) -> str:
    """The key of a write; nothing where it has none. Raises Mistakes for what is no key."""
    key = (request.headers.get("entry-key") or form.value("entry_key")).strip().lower()
    if key and not KEY.fullmatch(key):
        raise Mistakes({"": "The key of this entry is not one of ours, so nothing was done."})
    return key


def hash_of_body(request: Request, form: Form) -> str:
    """The SHA-256 of what a write says: its address, its fields and its files, in whatever order they came."""
    digest = hashlib.sha256(request.url.path.encode())
    for name, value in sorted(form.values.items()):
        if name not in NOT_IN_FORM:
            digest.update(f"\0{name}\0{value}".encode())
    for name, content in sorted(form.files.items()):
        digest.update(f"\1{name}\1{hashlib.sha256(content).hexdigest()}".encode())
    return digest.hexdigest()


def as_entered(request: Request, desk: Desk, deed: Deed) -> Deed:
    """The deed as done by whom and when the tablet says: never in the future, never before the visit began. The
    journal keeps the moment of writing.
    """
    asked = request.state.person
    person = person_of(request, deed.session, asked)
    deed = replace(deed, person=person, through="" if person.id == asked.id else asked.name)
    text = request.headers.get("entry-age", "")
    if not text.isdecimal() or len(text) > 9 or text == "0":
        return deed
    done_at = deed.now - min(timedelta(seconds=int(text)), AGE_MOST)
    visit_id = request.path_params.get("visit_id")
    if visit_id is not None:
        started_at = get_visit(deed.session, int(visit_id)).started_at
        done_at = min(deed.now, max(done_at, started_at or done_at))
    return replace(deed, now=done_at, today=done_at.astimezone(desk.zone).date(), written_at=deed.now)


def person_of(request: Request, session: Session, person: Person) -> Person:
    """Whose deed it is: the one who is signed in, or the one whose entries the office takes in from a file."""
    text = request.headers.get("entry-for", "")
    if not text or text == str(person.id):
        return person
    if not person.sees_money or not text.isdecimal() or len(text) > 9:
        raise Refused(OTHER_PERSON)
    return get_person(session, int(text)).as_person


def answer_repeat(request: Request, session: Session, person: Person, key: str, body_hash: str) -> Response:
    """The first answer to a write that came again. Raises Refused where it says something else than the first."""
    row = find_keyed_write(session, key)
    if row is None or not row.answer:
        raise Refused("This entry is being saved at this moment. Send it again shortly.")
    if row.person_id != person_of(request, session, person).id:
        raise Refused(OTHER_PERSON)
    if row.body_hash != body_hash:
        raise Refused(OTHER_CONTENT)
    return answer(request, row.answer)


def answer(request: Request, told: dict[str, Any]) -> Response:
    """What was done: as JSON, else by going on to told["to"]."""
    return JSONResponse(told) if wants_json(request) else RedirectResponse(told["to"], status_code=303)
