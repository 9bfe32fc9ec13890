"""The outbox: sending a message to a customer, trying again, and stopping it.

A message is sent in three steps: marked as being sent (committed), handed to the server, marked as sent (committed).
When the program ends between the second and the third, nobody can tell whether the server had the message; it is sent
again under the same Message-ID and then says that it may have been sent twice.
"""

import hashlib
from datetime import timedelta

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.actions.folders import open_folder_paper
from app.actions.mail_servers import Attachment, NotSent, compose, deliver, open_password
from app.actions.people import hash_of
from app.actions.recall_letters import draw_recall_letter
from app.actions.share_links import share
from app.rules.mail_texts import LINK, MailKind, MailText, has_link
from app.rules.mails import MailState, next_wait
from app.rules.share_links import FolderKind, LinkScope
from app.rules.verdicts import Mistakes, Refused
from app.store.database import Missing
from app.store.firms import get_firm
from app.store.folders import find_in_folder
from app.store.mails import (
    RECALL_LETTER,
    MailAttachmentRow,
    MailRow,
    find_mail_server,
    get_mail,
    list_mails_broken_off,
    list_mails_to_send,
)
from app.store.reminders import find_reminder
from app.store.share_links import find_share_link, get_share_link

_LINKED = frozenset(kind.value for kind in MailKind if has_link(kind))


def send_mail(desk: Desk, mail_id: int) -> MailState:
    """Send a waiting message once and say how it stands afterwards. Nothing happens to one that does not wait."""
    claimed = _claim(desk, mail_id)
    if claimed is None:
        with desk.reading_only() as session:
            return MailState(get_mail(session, mail_id).state)
    try:
        row, link = claimed
        with desk.reading_only() as session:
            server = find_mail_server(session)
            if server is None:
                raise NotSent("There is no mail server any more.", final=True)
            details, firm = server.details, get_firm(session).name
            attached = _attached(desk, session, row)
        text = MailText(row.subject, row.body.replace(LINK, link))
        message = compose(
            details.from_address, firm, row.to_address, text, row.message_id, desk, attached, row.invitation
        )
        deliver(details, open_password(desk), message)
    except NotSent as problem:
        return _note_failure(desk, mail_id, problem)
    except (Refused, Missing, Mistakes, ValueError) as problem:
        return _note_failure(desk, mail_id, NotSent(getattr(problem, "sentence", str(problem)), final=True))
    with desk.doing(None) as deed:
        row = get_mail(deed.session, mail_id, locked=True)
        row.state, row.sent_at, row.problem = MailState.SENT.value, deed.now, ""
        for kept, sent in zip(row.attachments, attached, strict=True):
            kept.sha256 = hashlib.sha256(sent.content).hexdigest()
        if row.reminder_id is not None and (reminder := find_reminder(deed.session, row.reminder_id)) is not None:
            reminder.waits, reminder.sent_on = False, deed.today
        twice = "; an earlier attempt may have arrived as well" if row.doubted else ""
        deed.note("customer", row.customer_id, f"Sent e-mail {row.id} to {row.to_address}{twice}.")
    return MailState.SENT


def send_waiting_mails(desk: Desk) -> int:
    """Send every message whose time has come; how many were tried."""
    with desk.reading_only() as session:
        ids = list_mails_to_send(session, desk.now) if find_mail_server(session) is not None else []
    for mail_id in ids:
        send_mail(desk, mail_id)
    return len(ids)


def take_up_broken_off_mails(desk: Desk) -> int:
    """At a start: what was being sent when the program ended is sent again, and says so. How many there were."""
    with desk.doing(None) as deed:
        rows = list_mails_broken_off(deed.session)
        for row in rows:
            row.state, row.next_at, row.doubted = MailState.WAITING.value, deed.now, True
            row.share_link_id = None  # the link that may be out stays open; the next message gets its own
            row.problem = "The program ended while the message was being sent, so it may have arrived."
    return len(rows)


def try_mail_again(deed: Deed, mail_id: int) -> None:
    """Let a message that waits, has failed or was stopped be sent at the next chance. Refuses one that is sent."""
    row = get_mail(deed.session, mail_id, locked=True)
    if row.state == MailState.PRINTED:
        raise Refused("This letter was printed. Write another.")
    if row.state in (MailState.SENT, MailState.SENDING):
        raise Refused("This message is sent. Write another." if row.state == MailState.SENT else "It is being sent.")
    if row.state != MailState.WAITING:
        row.attempts = 0
    row.state, row.next_at = MailState.WAITING.value, deed.now


def stop_mail(deed: Deed, mail_id: int) -> None:
    """Keep a message that is not sent from being sent."""
    row = get_mail(deed.session, mail_id, locked=True)
    if row.state not in (MailState.WAITING, MailState.FAILED):
        raise Refused("Only a message that is not sent yet can be stopped.")
    row.state = MailState.STOPPED.value
    deed.note("customer", row.customer_id, f"Stopped e-mail {row.id} to {row.to_address}.")


def _claim(desk: Desk, mail_id: int) -> tuple[MailRow, str] | None:
    """Mark a message as being sent, with a link of its own where its text has one; nothing when another was quicker."""
    with desk.reading_only() as session:
        maker = get_mail(session, mail_id).made_by.as_person
    with desk.doing(maker) as deed:
        row = get_mail(deed.session, mail_id, locked=True)
        if row.state != MailState.WAITING:
            return None
        link = ""
        if LINK in row.body:
            try:
                link = _link(deed, desk, row)
            except Refused as problem:
                row.state, row.problem = MailState.FAILED.value, problem.sentence
                return None
        row.state, row.tried_at, row.attempts = MailState.SENDING.value, deed.now, row.attempts + 1
        return row, link


def _link(deed: Deed, desk: Desk, row: MailRow) -> str:
    """The address of a new link to what the message is about, made for this attempt alone."""
    if row.kind not in _LINKED:
        raise Refused("There are no papers to open a link to.")
    token = share(deed, row.scope, row.link_days, f"E-mail {row.id} to {row.to_address}"[:100])
    made = find_share_link(deed.session, hash_of(token))
    assert made is not None
    row.share_link_id = made.id
    return f"{desk.public_address}/s/{token}"


def _attached(desk: Desk, session: Session, mail: MailRow) -> list[Attachment]:
    """Everything that goes with a message, each file checked against its hash."""
    return [_opened(desk, session, mail, row) for row in get_mail(session, mail.id).attachments]


def _opened(desk: Desk, session: Session, mail: MailRow, row: MailAttachmentRow) -> Attachment:
    """An issued paper from its file; what was kept with the message; a letter about recalls from its own words."""
    if row.content is not None:
        content = row.content
    elif row.paper_kind == RECALL_LETTER and row.paper_id is not None:
        return Attachment(row.file_name, draw_recall_letter(desk, row.paper_id))
    else:
        content = _open_issued(desk, session, mail, row)
    if hashlib.sha256(content).hexdigest() != row.sha256:
        raise Refused(f"{row.title} is not what it was when this message was written, so it was not sent.")
    return Attachment(row.file_name, content)


def _open_issued(desk: Desk, session: Session, mail: MailRow, row: MailAttachmentRow) -> bytes:
    paper = None
    if row.paper_id is not None:
        scope = LinkScope(mail.customer_id, paper=(FolderKind(row.paper_kind), row.paper_id), with_money=True)
        paper = find_in_folder(session, scope, FolderKind(row.paper_kind), row.paper_id)
    if paper is None:
        raise Missing("paper")
    if paper.gone:
        raise Refused(f"{paper.title} no longer holds ({paper.gone}), so it was not sent. Write another message.")
    return open_folder_paper(desk, paper)


def _note_failure(desk: Desk, mail_id: int, problem: NotSent) -> MailState:
    """Note what the server said, and when the message is tried again. A link that cannot have gone out is withdrawn."""
    with desk.doing(None) as deed:
        row = get_mail(deed.session, mail_id, locked=True)
        wait: timedelta | None = None if problem.final else next_wait(row.attempts)
        row.problem, row.doubted = problem.sentence, row.doubted or problem.doubted
        row.state = MailState.FAILED.value if wait is None else MailState.WAITING.value
        row.next_at = deed.now + (wait or timedelta(0))
        if row.share_link_id is not None and not problem.doubted:
            get_share_link(deed.session, row.share_link_id).withdrawn_at = deed.now
            row.share_link_id = None
        if wait is None:
            deed.note("customer", row.customer_id, f"E-mail {row.id} to {row.to_address} failed: {problem.sentence}")
        return MailState(row.state)
