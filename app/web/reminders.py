"""Reminder letters: one in three tones for what a customer owes, to copy or as PDF; and the firm's own texts."""

from fastapi import APIRouter, Request, Response

from app.actions.reminders import (
    change_reminder_text,
    draw_reminder,
    note_reminder_sent,
    suggest_next_tone,
    write_reminder,
)
from app.rules.file_names import suggest_file_name
from app.rules.reminders import BODY_MOST, PLACEHOLDERS, SUBJECT_MOST, ReminderText, Tone
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.reminders import get_reminder_text, list_reminders
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page, pdf

routes = APIRouter()


@routes.get("/customers/{customer_id}/reminder")
def show_reminder(
    request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked, customer_id: int
) -> Response:
    customer = get_customer(session, customer_id)
    tone = asked.choice("tone", Tone, suggest_next_tone(session, customer_id, desk.today))
    text, overdue = write_reminder(session, customer_id, tone, person.name, desk.today)
    return page(
        request,
        "reminders/show.html",
        customer=customer,
        tone=tone,
        tones=list(Tone),
        text=text,
        overdue=overdue,
        sent=list_reminders(session, customer_id),
        today=desk.today,
    )


@routes.get("/customers/{customer_id}/reminder.pdf")
def download_reminder(session: Reading, desk: TheDesk, person: ThePerson, asked: Asked, customer_id: int) -> Response:
    tone = asked.choice("tone", Tone, suggest_next_tone(session, customer_id, desk.today))
    text, _ = write_reminder(session, customer_id, tone, person.name, desk.today)
    name = suggest_file_name("reminder", "", get_customer(session, customer_id).name, desk.today)
    return pdf(draw_reminder(desk, customer_id, text), name)


@routes.post("/customers/{customer_id}/reminders")
def save_reminder(deed: Doing, sent: Sent, customer_id: int) -> Response:
    note_reminder_sent(deed, customer_id, sent.choice("tone", Tone, Tone.FRIENDLY))
    return go(f"/customers/{customer_id}/account#reminders")


@routes.get("/reminder-texts")
def edit_reminder_texts(request: Request, session: Reading) -> Response:
    fields: dict[str, str] = {}
    for tone in Tone:
        text = get_reminder_text(session, tone)
        fields |= {f"{tone.value}_subject": text.subject, f"{tone.value}_body": text.body}
    return page(request, "reminders/texts.html", form=Form.showing(**fields), tones=list(Tone), names=PLACEHOLDERS)


@routes.post("/reminder-texts")
def save_reminder_texts(request: Request, deed: Doing, sent: Sent) -> Response:
    wrong: dict[str, str] = {}
    for tone in Tone:
        subject = sent.text(f"{tone.value}_subject", SUBJECT_MOST)
        body = sent.lines(f"{tone.value}_body", BODY_MOST)
        try:
            change_reminder_text(deed, tone, ReminderText(subject, body))
        except Mistakes as mistakes:
            wrong |= mistakes.messages
    if wrong or sent.mistakes:
        again = Mistakes(wrong)
        raise ask_again(request, "reminders/texts.html", sent, again, tones=list(Tone), names=PLACEHOLDERS)
    return go("/reminder-texts")
