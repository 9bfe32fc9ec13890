"""E-mails to customers: writing one about a paper, a visit, premises or a customer; the outbox; and one message with
what became of it.
"""

from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.actions.mail_topics import fill_topic_values, post_mail, write_mail
from app.actions.mails import stop_mail, try_mail_again
from app.actions.reminders import suggest_next_tone
from app.rules.mail_texts import BODY_MOST, LINK, LINK_ALONE, MailKind, MailText, has_link, list_placeholders
from app.rules.mail_topics import Topic, describe_link, list_mail_kinds
from app.rules.mails import MailState
from app.rules.reminders import Tone
from app.rules.share_links import DAYS_MOST, DAYS_USUAL, FolderKind, LinkKind
from app.rules.verdicts import Mistakes, Refused
from app.store.folders import FolderPaper, find_in_folder
from app.store.invoices import find_invoice_of_visit, list_open_invoices
from app.store.mails import (
    RECALL_LETTER,
    MailAttachmentRow,
    find_mail_server,
    get_mail,
    get_mail_attachment,
    list_mails,
)
from app.web.accounts import show_period
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf
from app.web.link_scopes import Shared, show_paper_path, show_shared_from

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


@routes.get("/mails/new")
def new_mail(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    shared, topic = _topic_from(session, desk, asked, asked.value("opens") == LinkKind.VISIT or asked.tick("money"))
    written = write_mail(session, topic, person.name, desk.today)
    form = Form.showing(
        to=written.to, subject=written.text.subject, body=written.text.body, attach=topic.kind not in LINK_ALONE,
        with_money=topic.scope.with_money, days=DAYS_USUAL,
    )  # fmt: skip
    return page(request, "mails/new.html", form=form, **_context(session, desk, shared, topic, written.papers))


@routes.post("/mails")
def save_mail(request: Request, desk: TheDesk, person: ThePerson, sent: Sent) -> Response:
    with desk.reading_only() as session:
        _, topic = _topic_from(session, desk, sent, sent.tick("with_money"))
    try:
        days = sent.whole("days", 1, DAYS_MOST)
        # As it was typed: a line break in a subject or an address is refused, not mended.
        text = MailText(sent.value("subject").strip(), sent.lines("body", BODY_MOST))
        sent.done()
        to, attach = sent.value("to").strip(" "), sent.tick("attach")
        mail_id = post_mail(desk, person, topic, to, text, attach, DAYS_USUAL if days is None else days)
    except Mistakes as wrong:
        with desk.reading_only() as session:
            shared, topic = _topic_from(session, desk, sent, sent.tick("with_money"))
            _, papers = fill_topic_values(session, topic, person.name, desk.today)
            context = _context(session, desk, shared, topic, papers)
            raise ask_again(request, "mails/new.html", sent, wrong, **context) from wrong
    request.app.state.postman.wake()
    return go(f"/mails/{mail_id}")


@routes.get("/mails/{mail_id}")
def show_mail(request: Request, session: Reading, mail_id: int) -> Response:
    mail = get_mail(session, mail_id)
    paper = find_in_folder(session, mail.scope, *mail.scope.paper) if mail.scope.paper else None
    return page(
        request,
        "mails/show.html",
        mail=mail,
        server=find_mail_server(session),
        paper=(paper.title, show_paper_path(*paper.key)) if paper else None,
        attached=[(row, _address_of(row)) for row in mail.attachments],
    )


@routes.get("/mails/{mail_id}/attachments/{attachment_id}.pdf")
def download_attachment(session: Reading, mail_id: int, attachment_id: int) -> Response:
    """What was drawn for one message and kept with it."""
    row = get_mail_attachment(session, mail_id, attachment_id)
    return pdf(row.content or b"", row.file_name)


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


def _topic_from(session: Session, desk: Desk, form: Form, with_money: bool) -> tuple[Shared, Topic]:
    """What a message is about, from the fields of its address or form. Raises Missing."""
    if not form.value("opens"):
        raise Refused("Nothing was named to write about. Begin from a customer, premises, a visit or a paper.")
    shared = show_shared_from(session, form, True)
    kind = form.choice("kind", MailKind, list_mail_kinds(shared.scope)[0])
    topic = Topic(kind, shared.scope)
    if kind == MailKind.STATEMENT:
        topic = replace(topic, period=show_period(form, desk.today))
    if kind == MailKind.REMINDER:
        usual = suggest_next_tone(session, shared.scope.customer_id, desk.today)
        topic = replace(topic, tone=form.choice("tone", Tone, usual))
    if topic.asks_money:
        topic = replace(topic, scope=replace(shared.scope, with_money=with_money))
    return shared, topic


def _context(
    session: Session, desk: Desk, shared: Shared, topic: Topic, papers: tuple[FolderPaper, ...]
) -> dict[str, Any]:
    """What the form needs beside its own fields. in_parts: how many further files the paper has."""
    here = f"/mails/new?opens={shared.opens}&id={shared.id}"
    attached = [(paper.title, show_paper_path(*paper.key)) for paper in papers]
    fields = {"opens": shared.opens, "id": shared.id, "kind": topic.kind.value}
    if topic.period is not None:
        fields |= {"start": topic.period[0].isoformat(), "end": topic.period[1].isoformat()}
        days = f"start={fields['start']}&end={fields['end']}"
        attached = [("Statement of account", f"/customers/{shared.scope.customer_id}/statement.pdf?{days}")]
    if topic.kind == MailKind.REMINDER:
        fields["tone"] = topic.tone.value
    kinds = [kind for kind in list_mail_kinds(shared.scope) if _is_there(session, desk, shared, kind)]
    tones = [(tone.value.capitalize(), f"{here}&kind=reminder&tone={tone.value}", tone == topic.tone) for tone in Tone]
    return {
        "about": shared.title if shared.scope.kind != LinkKind.CUSTOMER else shared.customer.name,
        "shared": shared,
        "topic": topic,
        "fields": fields,
        "kinds": [(kind.word.capitalize(), f"{here}&kind={kind.value}", kind == topic.kind) for kind in kinds],
        "tones": tones if topic.kind == MailKind.REMINDER else [],
        "attached": attached,
        "in_parts": sum(len(paper.parts) for paper in papers),
        "names": list_placeholders(topic.kind),
        "link": LINK,
        "link_alone": topic.kind in LINK_ALONE,
        "may_link": has_link(topic.kind),
        "link_opens": describe_link(topic),
        "days": DAYS_USUAL,
        "server": find_mail_server(session),
    }


def _is_there(session: Session, desk: Desk, shared: Shared, kind: MailKind) -> bool:
    """Whether there is something to write about in a kind of message."""
    if kind == MailKind.INVOICE and shared.scope.visit_id is not None:
        invoice = find_invoice_of_visit(session, shared.scope.visit_id)
        return invoice is not None and invoice.state == "issued"
    if kind == MailKind.REMINDER:
        return any(each.due_on < desk.today for each in list_open_invoices(session, shared.scope.customer_id))
    return True


def _address_of(row: MailAttachmentRow) -> str:
    """Where what went with a message is read."""
    if row.paper_id is None:
        return f"/mails/{row.mail_id}/attachments/{row.id}.pdf"
    if row.paper_kind == RECALL_LETTER:
        return f"/recall-letters/{row.paper_id}"
    return show_paper_path(FolderKind(row.paper_kind), row.paper_id)
