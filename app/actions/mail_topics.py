"""Writing a message about something: a paper, a visit, premises, a customer's folder, an account or what is overdue.

What is about to be sent is looked over by somebody; then it goes into the outbox with its papers, which are opened from
the issued files as it leaves (app/actions/mails.py). A statement has no kept file: it is drawn as the message is
written and kept with it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, say_day
from app.actions.kept_mails import keep_mail
from app.actions.reminders import fill_reminder_values, note_reminder_sent
from app.actions.statements import draw_statement
from app.rules.file_names import suggest_file_name
from app.rules.mail_texts import LINK, LINK_ALONE, MailKind, MailText, check_filled_text, describe_mail
from app.rules.mail_topics import Topic, list_mail_kinds
from app.rules.mails import ATTACHED_BYTES_MOST, check_mail_address
from app.rules.money import convert_from_pence
from app.rules.people import Person
from app.rules.reminders import ReminderText
from app.rules.share_links import DAYS_MOST, DAYS_USUAL, FolderKind, LinkScope
from app.rules.statements import total_statement
from app.rules.verdicts import Mistakes, Refused
from app.store.accounts import list_account_entries, list_debts
from app.store.customers import CustomerRow, get_customer
from app.store.firms import get_firm
from app.store.folders import FolderPaper, find_in_folder, list_folder
from app.store.mails import MailAttachmentRow, MailRow, find_mail_server, get_mail_text
from app.store.premises import get_premises
from app.store.reminders import get_reminder_text
from app.store.visits import get_visit


@dataclass(frozen=True)
class WrittenMail:
    """A message for somebody to look over. papers: what goes with it where that is wanted."""

    to: str
    text: MailText
    papers: tuple[FolderPaper, ...]


def write_mail(session: Session, topic: Topic, sender: str, today: date) -> WrittenMail:
    """The address, the firm's text with its values, and the papers. Writes nothing; refuses before there is a paper."""
    values, papers = fill_topic_values(session, topic, sender, today)
    if topic.kind == MailKind.REMINDER:
        own = get_reminder_text(session, topic.tone)
        text = MailText(own.subject, own.body)
    else:
        text = get_mail_text(session, topic.kind)
    return WrittenMail(get_customer(session, topic.scope.customer_id).mail_address, describe_mail(text, values), papers)


def post_mail(
    desk: Desk, person: Person, topic: Topic, to: str, text: MailText, attach: bool, days: int = DAYS_USUAL
) -> int:
    """Put a message into the outbox and give its id; a statement is drawn first, so that nobody waits for it.

    Raises Mistakes.
    """
    drawn = None
    if topic.kind == MailKind.STATEMENT and topic.period is not None and attach:
        drawn = draw_statement(desk, topic.scope.customer_id, *topic.period)
    with desk.doing(person) as deed:
        return put_in_outbox(deed, topic, to, text, attach, days, drawn).id


def put_in_outbox(
    deed: Deed,
    topic: Topic,
    to: str,
    text: MailText,
    attach: bool = True,
    days: int = DAYS_USUAL,
    statement: bytes | None = None,
) -> MailRow:
    """Put a message into the outbox, to be sent at once. Raises Mistakes.

    attach: whether the papers go with it; days: how long the link opens, where the text has one; statement: the PDF of
    an account, where the message is about one.
    """
    if find_mail_server(deed.session) is None:
        raise Refused("There is no mail server yet, so nothing can be sent from here. Copy the text instead.")
    values, papers = fill_topic_values(deed.session, topic, deed.doer.name, deed.today)
    attached = papers if attach and topic.kind not in LINK_ALONE else ()
    filled, mistakes = check_filled_text(text, topic.kind, values)
    if sentence := check_mail_address(to):
        mistakes["to"] = sentence
    if not 1 <= days <= DAYS_MOST:
        mistakes["days"] = f"A link can live from 1 to {DAYS_MOST} days."
    if LINK not in filled.body and topic.kind in LINK_ALONE and "body" not in mistakes:
        mistakes["body"] = "Leave {link} where the address of the link is to stand."
    if sentence := _check_attached(attached, LINK in filled.body):
        mistakes["attach"] = sentence
    if mistakes:
        raise Mistakes(mistakes)
    scope = topic.scope
    mail = keep_mail(
        deed,
        topic.kind.value,
        scope.customer_id,
        to,
        filled,
        days,
        visit_id=scope.visit_id,
        premises_id=scope.premises_id,
        paper_kind=scope.paper[0].value if scope.paper else "",
        paper_id=scope.paper[1] if scope.paper else None,
        with_money=scope.with_money,
        attachments=_attachments(deed, topic, attached, statement),
    )
    if topic.kind == MailKind.REMINDER:
        words = ReminderText(filled.subject, filled.body)
        mail.reminder_id = note_reminder_sent(deed, scope.customer_id, topic.tone, words, waits=True).id
        deed.session.flush()
    return mail


def fill_topic_values(
    session: Session, topic: Topic, sender: str, today: date
) -> tuple[dict[str, str], tuple[FolderPaper, ...]]:
    """What the placeholders stand for, but for {link}, and the papers that can go with the message."""
    scope, kind = topic.scope, topic.kind
    if kind not in list_mail_kinds(scope):
        raise Refused("This kind of message is not about that.")
    customer = get_customer(session, scope.customer_id)
    names = fill_names(session, customer, sender)
    if kind == MailKind.REMINDER:
        values, overdue = fill_reminder_values(session, customer.id, sender, today)
        ids = [each.id for each in overdue]
        folder = list_folder(session, LinkScope(customer.id, with_money=True))
        bills = [paper for paper in folder if paper.kind == FolderKind.INVOICE and paper.id in ids]
        return values, tuple(sorted(bills, key=lambda paper: ids.index(paper.id)))
    if kind == MailKind.STATEMENT:
        return names | _account(session, topic), ()
    if kind == MailKind.FOLDER:
        place = get_premises(session, scope.premises_id).name if scope.premises_id else "all your premises"
        return names | {"about": place}, ()
    paper = _paper(session, topic)
    return names | _told_by(session, scope, paper), () if kind == MailKind.LINK else (paper,)


def fill_names(session: Session, customer: CustomerRow, sender: str) -> dict[str, str]:
    """What every message can name."""
    return {
        "contact": customer.contacts[0].name if customer.contacts else customer.name,
        "customer": customer.name,
        "firm": get_firm(session).name,
        "sender": sender,
    }


def _paper(session: Session, topic: Topic) -> FolderPaper:
    """The paper that a message is about. Refuses where it is not issued, or no longer holds."""
    scope = topic.scope
    if scope.paper is not None:
        paper = find_in_folder(session, scope, *scope.paper)
        if paper is None:
            raise Refused("Only a paper that is issued can be sent.")
        if paper.gone:
            raise Refused(
                f"{paper.title} no longer holds ({paper.gone}), so it is not sent. The link to it still opens."
            )
        return paper
    wanted = FolderKind.INVOICE if topic.kind == MailKind.INVOICE else FolderKind.CERTIFICATE
    of_visit = list_folder(session, LinkScope(scope.customer_id, visit_id=scope.visit_id, with_money=True))
    found = next((paper for paper in of_visit if paper.kind == wanted and not paper.gone), None)
    if found is None:
        what = "invoice" if wanted == FolderKind.INVOICE else "certificate of this visit"
        raise Refused(f"The {what} is not issued yet.")
    return found


def _told_by(session: Session, scope: LinkScope, paper: FolderPaper) -> dict[str, str]:
    """What a paper and its visit put in place of the placeholders."""
    day = paper.issued_on
    if visit_id := scope.visit_id or (paper.visit_id if paper.place else None):
        visit = get_visit(session, visit_id)
        day = visit.finished_on or visit.booked_on
    pence = paper.owed_pence if paper.owed_pence is not None else paper.pence
    return {
        "premises": paper.place or "your premises",
        "about": paper.place or paper.whom,
        "paper": f"{paper.kind.value} {paper.number}",
        "day": say_day(day),
        "number": paper.number,
        "amount": _pounds(pence or 0),
        "due": say_day(paper.due_on) if paper.due_on else "",
    }


def _account(session: Session, topic: Topic) -> dict[str, str]:
    if topic.period is None:
        raise ValueError("a statement is about a time")
    customer_id = topic.scope.customer_id
    told = total_statement(list_account_entries(session, customer_id), list_debts(session, customer_id), *topic.period)
    owed = told.closing_pence
    return {"day": say_day(told.ends_on), "amount": f"{_pounds(abs(owed))}{' in your favour' if owed < 0 else ''}"}


def _check_attached(papers: Sequence[FolderPaper], has_link: bool) -> str:
    """Say what is wrong with what is to be attached, or nothing."""
    if sum(paper.size_bytes for paper in papers) > ATTACHED_BYTES_MOST:
        return (
            f"{'These papers are' if len(papers) > 1 else 'This paper is'} too large for e-mail. Send the link instead."
        )
    long = next((paper for paper in papers if paper.parts), None)
    if long is not None and not has_link:
        return (
            f"This {long.kind.value} has {len(long.parts)} more files, and an e-mail takes only its cover. Leave "
            f"{LINK} in the message, so that the customer finds the others."
        )
    return ""


def _attachments(
    deed: Deed, topic: Topic, papers: Sequence[FolderPaper], statement: bytes | None
) -> list[MailAttachmentRow]:
    rows = [
        MailAttachmentRow(
            paper_kind=paper.kind.value,
            paper_id=paper.id,
            number=paper.number,
            file_name=suggest_file_name(paper.kind.value, paper.number, paper.whom, paper.issued_on),
            sha256=paper.sha256,
        )
        for paper in papers
    ]
    if statement is not None and topic.period is not None:
        whom = get_customer(deed.session, topic.scope.customer_id).name
        rows.append(
            MailAttachmentRow(
                paper_kind="statement of account",
                file_name=suggest_file_name("statement", "", whom, topic.period[1]),
                sha256=sha256(statement).hexdigest(),
                content=statement,
            )
        )
    return rows


def _pounds(pence: int) -> str:
    return f"£{convert_from_pence(pence):,.2f}"
