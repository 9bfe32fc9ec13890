"""E-mails to customers: writing one about a visit, the outbox, and one message with what became of it."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.mails import put_in_outbox, stop_mail, try_mail_again, write_mail
from app.rules.mails import AFTER_THE_VISIT, BODY_MOST, LINK, PLACEHOLDERS, MailKind, MailState, MailText
from app.rules.share_links import DAYS_MOST, DAYS_USUAL
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import find_certificate_of_visit
from app.store.invoices import find_invoice_of_visit
from app.store.mails import find_mail_server, get_mail, list_mails
from app.store.paper_parts import list_paper_parts
from app.store.visits import VisitRow, get_visit
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()
STATES = [(state.value, state.word.capitalize()) for state in MailState]


@routes.get("/mails")
def list_all_mails(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    search = asked.text("q")
    state = asked.value("state") if asked.value("state") in dict(STATES) else ""
    return page(
        request,
        "mails/list.html",
        mails=list_mails(session, state, search),
        search=search,
        state=state,
        states=STATES,
        server=find_mail_server(session),
    )


@routes.get("/mails/{mail_id}")
def show_mail(request: Request, session: Reading, mail_id: int) -> Response:
    return page(request, "mails/show.html", mail=get_mail(session, mail_id), server=find_mail_server(session))


@routes.post("/mails/{mail_id}/send")
def save_new_attempt(request: Request, desk: TheDesk, person: ThePerson, mail_id: int) -> Response:
    """Let it be sent now; the postman is woken once that is on record."""
    with desk.doing(person) as deed:
        try_mail_again(deed, mail_id)
    request.app.state.postman.wake()
    return go(f"/mails/{mail_id}")


@routes.post("/mails/{mail_id}/stop")
def save_stop(deed: Doing, mail_id: int) -> Response:
    stop_mail(deed, mail_id)
    return go(f"/mails/{mail_id}")


@routes.get("/visits/{visit_id}/mails/new")
def new_mail(request: Request, session: Reading, person: ThePerson, asked: Asked, visit_id: int) -> Response:
    visit = get_visit(session, visit_id)
    kind = asked.choice("kind", MailKind, MailKind.CERTIFICATE)
    to, text = write_mail(session, visit, kind, person.name)
    form = Form.showing(
        kind=kind.value, to=to, subject=text.subject, body=text.body, attach=kind != MailKind.LINK, days=DAYS_USUAL
    )
    return page(request, "mails/new.html", form=form, **_context(session, visit, kind))


@routes.post("/visits/{visit_id}/mails")
def save_mail(request: Request, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    kind = sent.choice("kind", MailKind, MailKind.CERTIFICATE)
    try:
        with desk.doing(person) as deed:
            days = sent.whole("days", 1, DAYS_MOST)
            # As it was typed: a line break in a subject or an address is refused, not mended.
            text = MailText(sent.value("subject").strip(), sent.lines("body", BODY_MOST))
            to = sent.value("to").strip(" ")
            sent.done()
            row = put_in_outbox(
                deed, visit_id, kind, to, text, sent.tick("attach"), DAYS_USUAL if days is None else days
            )
    except Mistakes as wrong:
        with desk.reading_only() as session:
            context = _context(session, get_visit(session, visit_id), kind)
            raise ask_again(request, "mails/new.html", sent, wrong, **context) from wrong
    request.app.state.postman.wake()
    return go(f"/mails/{row.id}")


def _context(session: Session, visit: VisitRow, kind: MailKind) -> dict[str, Any]:
    invoice = find_invoice_of_visit(session, visit.id)
    kinds = [each for each in AFTER_THE_VISIT if each != MailKind.INVOICE or (invoice and invoice.state == "issued")]
    if kind not in kinds:
        raise Refused("The invoice is not issued yet.")
    return {
        "visit": visit,
        "kind": kind,
        "kinds": kinds,
        "names": PLACEHOLDERS,
        "link": LINK,
        "in_parts": _in_parts(session, visit),
        "server": find_mail_server(session),
    }


def _in_parts(session: Session, visit: VisitRow) -> int:
    """How many further files the certificate of a visit has."""
    certificate = find_certificate_of_visit(session, visit.id)
    return len(list_paper_parts(session, "certificate", certificate.id)) if certificate else 0
