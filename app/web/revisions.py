"""Correcting a certificate: what has changed since it was issued, the reason, and the new one; and making one void."""

from fastapi import APIRouter, Request, Response

from app.actions.revisions import compare_certificate, revise_certificate, void_certificate
from app.rules.certificates import Standing
from app.rules.verdicts import Mistakes
from app.store.certificates import get_certificate
from app.web.drawings import PATIENCE_SECONDS
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()


@routes.get("/certificates/{certificate_id}/correct")
def new_revision(request: Request, session: Reading, desk: TheDesk, person: ThePerson, certificate_id: int) -> Response:
    row = get_certificate(session, certificate_id)
    if row.standing in (Standing.REPLACED, Standing.VOID):
        return go(f"/certificates/{row.id}")
    changes = compare_certificate(desk, person, certificate_id)
    return page(request, "revisions/new.html", form=Form(), certificate=row, changes=changes)


@routes.post("/certificates/{certificate_id}/correct")
def save_revision(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, certificate_id: int
) -> Response:
    try:
        reason = sent.text("reason", 500)
        sent.done()
        new_id = revise_certificate(desk, person, certificate_id, reason, PATIENCE_SECONDS)
    except Mistakes as wrong:
        changes = compare_certificate(desk, person, certificate_id)
        certificate = get_certificate(session, certificate_id)
        raise ask_again(request, "revisions/new.html", sent, wrong, certificate=certificate, changes=changes) from wrong
    return go(f"/certificates/{new_id}")


@routes.post("/certificates/{certificate_id}/void")
def save_void(request: Request, deed: Doing, sent: Sent, certificate_id: int) -> Response:
    try:
        reason = sent.text("reason", 500)
        sent.done()
        void_certificate(deed, certificate_id, reason)
    except Mistakes as wrong:
        certificate = get_certificate(deed.session, certificate_id)
        raise ask_again(request, "revisions/void.html", sent, wrong, certificate=certificate) from wrong
    return go(f"/certificates/{certificate_id}")


@routes.get("/certificates/{certificate_id}/void")
def new_void(request: Request, session: Reading, certificate_id: int) -> Response:
    row = get_certificate(session, certificate_id)
    if row.standing != Standing.ISSUED:
        return go(f"/certificates/{row.id}")
    return page(request, "revisions/void.html", form=Form(), certificate=row)
