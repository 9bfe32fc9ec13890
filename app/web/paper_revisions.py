"""Correcting the certificate of a single item: what has changed since it was issued, the reason, and the new one."""

from fastapi import APIRouter, Request, Response

from app.actions.item_certificates import compare_item_certificate, revise_item_certificate
from app.rules.certificates import Standing
from app.rules.verdicts import Mistakes
from app.store.papers import get_paper
from app.web.fields import Form
from app.web.kit import Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()


@routes.get("/papers/{paper_id}/correct")
def new_paper_revision(request: Request, session: Reading, desk: TheDesk, person: ThePerson, paper_id: int) -> Response:
    row = get_paper(session, paper_id)
    if row.standing in (Standing.REPLACED, Standing.VOID):
        return go(f"/papers/{row.id}")
    changes = compare_item_certificate(desk, person, paper_id)
    return page(request, "papers/correct.html", form=Form(), row=row, changes=changes)


@routes.post("/papers/{paper_id}/correct")
def save_paper_revision(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, sent: Sent, paper_id: int
) -> Response:
    try:
        reason = sent.text("reason", 500)
        sent.done()
        new_id = revise_item_certificate(desk, person, paper_id, reason)
    except Mistakes as wrong:
        changes = compare_item_certificate(desk, person, paper_id)
        row = get_paper(session, paper_id)
        raise ask_again(request, "papers/correct.html", sent, wrong, row=row, changes=changes) from wrong
    return go(f"/papers/{new_id}")
