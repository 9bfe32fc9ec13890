"""Letters to customers about recalled products: written, looked at, printed, e-mailed."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.recall_letters import draw_recall_letter, keep_recall_letter, post_recall_letter, write_recall_letter
from app.rules.file_names import suggest_file_name
from app.rules.recall_letters import BODY_MOST, RecallLetter
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.mails import RECALL_LETTER, find_mail_server, list_mails_with
from app.store.recalls import RecallLetterRow, get_recall_letter
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf

routes = APIRouter()


@routes.get("/customers/{customer_id}/recall-letters/new")
def new_recall_letter(request: Request, session: Reading, person: ThePerson, customer_id: int) -> Response:
    customer = get_customer(session, customer_id)
    letter, hits = write_recall_letter(session, customer_id, person.name)
    form = Form.showing(subject=letter.subject, body=letter.body)
    return page(request, "recall_letters/new.html", form=form, customer=customer, hits=hits)


@routes.post("/customers/{customer_id}/recall-letters")
def save_recall_letter(request: Request, deed: Doing, sent: Sent, customer_id: int) -> Response:
    customer = get_customer(deed.session, customer_id)
    try:
        letter = RecallLetter(sent.text("subject"), sent.lines("body", BODY_MOST))
        sent.done()
        row = keep_recall_letter(deed, customer_id, letter)
    except Mistakes as wrong:
        _, hits = write_recall_letter(deed.session, customer_id, deed.doer.name)
        raise ask_again(request, "recall_letters/new.html", sent, wrong, customer=customer, hits=hits) from wrong
    return go(f"/recall-letters/{row.id}")


@routes.get("/recall-letters/{recall_letter_id}")
def show_recall_letter(request: Request, session: Reading, recall_letter_id: int) -> Response:
    row = get_recall_letter(session, recall_letter_id)
    form = Form.showing(to=row.customer.mail_address)
    return page(request, "recall_letters/show.html", form=form, **_letter_shown(session, row))


@routes.get("/recall-letters/{recall_letter_id}/paper.pdf")
def download_recall_letter(session: Reading, desk: TheDesk, recall_letter_id: int) -> Response:
    row = get_recall_letter(session, recall_letter_id)
    name = suggest_file_name("recall letter", "", row.customer.name, row.made_at.astimezone(desk.zone).date())
    return pdf(draw_recall_letter(desk, recall_letter_id), name)


@routes.post("/recall-letters/{recall_letter_id}/send")
def save_sent_letter(request: Request, desk: TheDesk, person: ThePerson, sent: Sent, recall_letter_id: int) -> Response:
    """Put it into the outbox; the postman is woken once that is on record."""
    try:
        with desk.doing(person) as deed:
            mail_id = post_recall_letter(deed, recall_letter_id, sent.value("to").strip(" ")).id
    except Mistakes as wrong:
        with desk.reading_only() as session:
            shown = _letter_shown(session, get_recall_letter(session, recall_letter_id))
            raise ask_again(request, "recall_letters/show.html", sent, wrong, **shown) from wrong
    request.app.state.postman.wake()
    return go(f"/mails/{mail_id}")


def _letter_shown(session: Session, row: RecallLetterRow) -> dict[str, Any]:
    mails = list_mails_with(session, RECALL_LETTER, row.id)
    return {"letter": row, "server": find_mail_server(session), "mails": mails}
