"""The firm's mail server and the texts of its e-mails."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.mail_servers import (
    change_mail_server,
    change_mail_text,
    has_password,
    remove_mail_server,
    send_test,
)
from app.rules.mail_texts import BODY_MOST, FIRST_TEXTS, PLACEHOLDERS, SUBJECT_MOST, MailText
from app.rules.mails import PASSWORD_MOST, MailServerDetails, Security
from app.rules.verdicts import Mistakes
from app.store.firms import get_firm
from app.store.mails import find_mail_server, get_mail_text
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page

routes = APIRouter()
SAVED = {
    "details": "The mail server is saved. Send a test to see whether it takes messages.",
    "removed": "The mail server and its password are removed. Texts and links can be copied instead.",
    "texts": "The texts are saved.",
}


@routes.get("/settings/mail")
def edit_mail_server(request: Request, session: Reading, desk: TheDesk, asked: Asked, person: ThePerson) -> Response:
    row = find_mail_server(session)
    values: dict[str, Any] = (
        vars(row.details) | {"version": row.version, "security": row.security}
        if row
        else {"port": 587, "security": Security.STARTTLS.value, "from_address": get_firm(session).email}
    )
    saved = SAVED.get(asked.value("saved"), "")
    if asked.value("saved") == "test":
        saved = "The server has taken the test message to your own address. See whether it arrives."
    return page(request, "mail_servers/edit.html", form=Form.showing(**values), saved=saved, **_context(session, desk))


@routes.post("/settings/mail")
def save_mail_server(request: Request, desk: TheDesk, deed: Doing, sent: Sent) -> Response:
    try:
        port = sent.whole("port", 1, 65535)
        if port is None:
            sent.blame("port", "Give a port from 1 to 65535.")
        details = MailServerDetails(
            host=sent.text("host", 254),
            port=port or 0,
            security=sent.choice("security", Security, Security.STARTTLS),
            user=sent.text("user"),
            from_address=sent.text("from_address", 254),
        )
        password = sent.value("password")
        if len(password) > PASSWORD_MOST:
            sent.blame("password", f"Use at most {PASSWORD_MOST} characters.")
        sent.done()
        change_mail_server(deed, desk.keys_folder, details, password, sent.version())
    except Mistakes as wrong:
        raise ask_again(
            request, "mail_servers/edit.html", sent, wrong, saved="", **_context(deed.session, desk)
        ) from wrong
    return go("/settings/mail?saved=details")


@routes.post("/settings/mail/remove")
def remove_server(desk: TheDesk, deed: Doing) -> Response:
    remove_mail_server(deed, desk.keys_folder)
    return go("/settings/mail?saved=removed")


@routes.post("/settings/mail/test")
def save_test(desk: TheDesk, person: ThePerson) -> Response:
    """Send a test to the person who asks; what the server answers otherwise is shown by a refusal."""
    send_test(desk, person)
    return go("/settings/mail?saved=test")


@routes.get("/mail-texts")
def edit_mail_texts(request: Request, session: Reading, asked: Asked) -> Response:
    fields: dict[str, str] = {}
    for kind in FIRST_TEXTS:
        text = get_mail_text(session, kind)
        fields |= {f"{kind.value}_subject": text.subject, f"{kind.value}_body": text.body}
    saved = SAVED.get(asked.value("saved"), "")
    return page(
        request, "mail_servers/texts.html", form=Form.showing(**fields), kinds=list(FIRST_TEXTS), names=PLACEHOLDERS,
        saved=saved,
    )  # fmt: skip


@routes.post("/mail-texts")
def save_mail_texts(request: Request, deed: Doing, sent: Sent) -> Response:
    wrong: dict[str, str] = {}
    for kind in [each for each in FIRST_TEXTS if f"{each.value}_subject" in sent.values]:
        subject = sent.value(f"{kind.value}_subject").strip()
        body = sent.lines(f"{kind.value}_body", BODY_MOST)
        try:
            change_mail_text(deed, kind, MailText(subject[: SUBJECT_MOST + 1], body))
        except Mistakes as mistakes:
            wrong |= mistakes.messages
    if wrong or sent.mistakes:
        raise ask_again(
            request, "mail_servers/texts.html", sent, Mistakes(wrong), kinds=list(FIRST_TEXTS), names=PLACEHOLDERS,
            saved="",
        )  # fmt: skip
    return go("/mail-texts?saved=texts")


def _context(session: Session, desk: TheDesk) -> dict[str, Any]:
    return {
        "server": find_mail_server(session),
        "password_from": has_password(desk),
        "securities": [(each.value, each.word) for each in Security],
    }
