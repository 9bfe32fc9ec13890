"""Letters about visits to come and about what falls due: which to write, writing one, and one as a PDF to print."""

from datetime import timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.letters import draw_letter, send_recall, send_visit_letter, write_recall, write_visit_letter
from app.actions.planning_settings import change_planning_settings
from app.rules.file_names import suggest_file_name
from app.rules.mail_texts import BEFORE_THE_VISIT, BODY_MOST, PLACEHOLDERS, MailKind, MailText
from app.rules.planning_settings import DAYS_MOST, PlanningSettings
from app.rules.verdicts import Mistakes
from app.rules.visits import VisitState
from app.store.letters import CONFIRM_AHEAD_DAYS, list_recalls_due, list_visits_without
from app.store.mails import find_mail_server, get_mail
from app.store.planning_settings import find_planning_settings, get_planning_settings
from app.store.premises import PremisesRow, get_premises
from app.store.visits import VisitRow, get_visit
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf

routes = APIRouter()


@routes.get("/letters")
def list_letters(request: Request, session: Reading, desk: TheDesk) -> Response:
    """Which letters somebody should write now."""
    settings, today = get_planning_settings(session), desk.today
    return page(
        request,
        "letters/list.html",
        confirm=list_visits_without(session, MailKind.BOOKING, today, today + timedelta(days=CONFIRM_AHEAD_DAYS)),
        coming=list_visits_without(session, MailKind.COMING, today, today + timedelta(days=settings.remind_days)),
        recalls=list_recalls_due(session, settings, today),
        settings=settings,
        today=today,
    )


@routes.get("/visits/{visit_id}/letters/new")
def new_visit_letter(request: Request, session: Reading, person: ThePerson, asked: Asked, visit_id: int) -> Response:
    visit = get_visit(session, visit_id)
    usual = MailKind.CALLED_OFF if visit.state == VisitState.CANCELLED else MailKind.BOOKING
    kind = asked.choice("kind", MailKind, usual)
    to, text = write_visit_letter(session, visit, kind, person.name)
    form = Form.showing(kind=kind.value, to=to, subject=text.subject, body=text.body)
    return page(request, "letters/visit.html", form=form, **_visit_context(session, visit, kind))


@routes.post("/visits/{visit_id}/letters")
def save_visit_letter(request: Request, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    kind = sent.choice("kind", MailKind, MailKind.BOOKING)
    try:
        with desk.doing(person) as deed:
            to, text, printed = _letter_from(sent)
            row = send_visit_letter(deed, desk, visit_id, kind, to, text, printed)
    except Mistakes as wrong:
        with desk.reading_only() as session:
            context = _visit_context(session, get_visit(session, visit_id), kind)
            raise ask_again(request, "letters/visit.html", sent, wrong, **context) from wrong
    request.app.state.postman.wake()
    return go(f"/mails/{row.id}")


@routes.get("/premises/{premises_id}/recall")
def new_recall(request: Request, session: Reading, desk: TheDesk, person: ThePerson, premises_id: int) -> Response:
    premises = get_premises(session, premises_id)
    to, text = write_recall(session, premises, person.name, desk)
    form = Form.showing(to=to, subject=text.subject, body=text.body)
    return page(request, "letters/recall.html", form=form, **_recall_context(session, premises))


@routes.post("/premises/{premises_id}/recall")
def save_recall(request: Request, desk: TheDesk, person: ThePerson, sent: Sent, premises_id: int) -> Response:
    try:
        with desk.doing(person) as deed:
            to, text, printed = _letter_from(sent)
            row = send_recall(deed, desk, premises_id, to, text, printed)
    except Mistakes as wrong:
        with desk.reading_only() as session:
            context = _recall_context(session, get_premises(session, premises_id))
            raise ask_again(request, "letters/recall.html", sent, wrong, **context) from wrong
    request.app.state.postman.wake()
    return go(f"/mails/{row.id}")


@routes.get("/mails/{mail_id}/letter.pdf")
def download_letter(session: Reading, desk: TheDesk, mail_id: int) -> Response:
    mail = get_mail(session, mail_id)
    day = mail.made_at.astimezone(desk.zone).date()
    return pdf(draw_letter(desk, mail_id), suggest_file_name("letter", "", mail.customer.name, day))


@routes.get("/planner/settings")
def edit_planning(request: Request, session: Reading) -> Response:
    row = find_planning_settings(session)
    values = vars(get_planning_settings(session)) | {"version": row.version if row is not None else ""}
    return page(request, "letters/settings.html", form=Form.showing(**values))


@routes.post("/planner/settings")
def save_planning(request: Request, deed: Doing, sent: Sent) -> Response:
    try:
        values = {name: sent.whole(name, 0, most) for name, most in DAYS_MOST.items()}
        for name in [name for name, value in values.items() if value is None]:
            sent.blame(name, "Give a number of days.")
        sent.done()
        change_planning_settings(
            deed, PlanningSettings(**{name: value or 0 for name, value in values.items()}), sent.version()
        )
    except Mistakes as wrong:
        raise ask_again(request, "letters/settings.html", sent, wrong) from wrong
    return go("/planner/settings")


def _letter_from(sent: Form) -> tuple[str, MailText, bool]:
    # As it was typed: a line break in a subject or an address is refused, not mended.
    text = MailText(sent.value("subject").strip(), sent.lines("body", BODY_MOST))
    sent.done()
    return sent.value("to").strip(" "), text, sent.value("how") == "print"


def _visit_context(session: Session, visit: VisitRow, kind: MailKind) -> dict[str, Any]:
    kinds = [MailKind.CALLED_OFF] if visit.state == VisitState.CANCELLED else list(BEFORE_THE_VISIT)
    return {
        "visit": visit,
        "kind": kind,
        "kinds": kinds,
        "names": PLACEHOLDERS,
        "server": find_mail_server(session),
    }


def _recall_context(session: Session, premises: PremisesRow) -> dict[str, Any]:
    return {"premises": premises, "names": PLACEHOLDERS, "server": find_mail_server(session)}
