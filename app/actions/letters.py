"""Letters about visits to come and about what falls due: written for somebody to look over, then sent or printed."""

from datetime import timedelta

from sqlalchemy.orm import Session

from app.actions.calendar_feeds import describe_visit_at
from app.actions.deeds import Deed, Desk, say_day
from app.actions.kept_mails import keep_mail
from app.actions.mail_topics import fill_names
from app.actions.paper_files import draw_paper
from app.documents.calendars import invitation_from
from app.documents.reminder import reminder_from
from app.rules.calendars import Method, Parties
from app.rules.mail_texts import BEFORE_THE_VISIT, LINK, MailKind, MailText, check_filled_text, describe_mail
from app.rules.mails import check_mail_address
from app.rules.paces import describe_duration
from app.rules.reminders import ReminderText
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.accounts import facts_of_account_holder
from app.store.due_work import list_due_places
from app.store.firms import get_firm
from app.store.mails import MailRow, find_mail_server, get_mail, get_mail_text
from app.store.planning_settings import get_planning_settings
from app.store.premises import PremisesRow, get_premises
from app.store.visits import VisitRow, get_visit

#: A recall letter counts what falls due this many days on from the day it is written for (ours).
RECALL_REACH_DAYS = 60


def write_visit_letter(session: Session, visit: VisitRow, kind: MailKind, sender: str) -> tuple[str, MailText]:
    """The address and the firm's text about a visit to come, filled, for somebody to look over. Writes nothing."""
    text, values = get_mail_text(session, kind), fill_visit_values(session, visit, kind, sender)
    return visit.customer.mail_address, describe_mail(_spread(visit, text), values)


def write_recall(session: Session, premises: PremisesRow, sender: str, desk: Desk) -> tuple[str, MailText]:
    """The address and the firm's text about what falls due at premises, filled. Refuses where nothing does."""
    values = fill_recall_values(session, premises, sender, desk)
    return premises.customer.mail_address, describe_mail(get_mail_text(session, MailKind.RECALL), values)


def fill_visit_values(session: Session, visit: VisitRow, kind: MailKind, sender: str) -> dict[str, str]:
    """What the placeholders stand for. Refuses for a visit that such a letter is not about."""
    if kind not in (*BEFORE_THE_VISIT, MailKind.CALLED_OFF):
        raise Refused("This letter is not about a visit to come.")
    wanted = VisitState.CANCELLED if kind == MailKind.CALLED_OFF else VisitState.BOOKED
    if visit.state != wanted:
        raise Refused(f"This visit is {visit.state}.")
    return fill_names(session, visit.customer, sender) | {
        "premises": visit.premises.name,
        "day": _days(visit),
        "time": f" at {visit.booked_time:%H:%M}" if visit.booked_time else "",
        "technician": visit.technician.name,
        "length": describe_duration(visit.minutes) if visit.minutes else "a few hours",
    }


def fill_recall_values(session: Session, premises: PremisesRow, sender: str, desk: Desk) -> dict[str, str]:
    """What the placeholders of a recall letter stand for."""
    settings = get_planning_settings(session)
    until = desk.today + timedelta(days=settings.recall_days + RECALL_REACH_DAYS)
    place = next(
        (each for each in list_due_places(session, until, premises.customer_id) if each.premises_id == premises.id),
        None,
    )
    if place is None:
        raise Refused(f"Nothing falls due at {premises.name} by {say_day(until)}.")
    count = sum(group.count for group in place.groups)
    return fill_names(session, premises.customer, sender) | {
        "premises": premises.name,
        "items": f"{count} item{'' if count == 1 else 's'}",
        "falls due": say_day(min(group.due_on for group in place.groups)),
    }


def send_visit_letter(
    deed: Deed, desk: Desk, visit_id: int, kind: MailKind, to: str, text: MailText, printed: bool = False
) -> MailRow:
    """Put a letter about a visit into the outbox, with an invitation where it confirms or calls off; or keep it as
    printed. Raises Mistakes.
    """
    visit = get_visit(deed.session, visit_id)
    values = fill_visit_values(deed.session, visit, kind, deed.doer.name)
    to, filled = _letter(deed, kind, to, _spread(visit, text), values, printed)
    invited = not printed and kind != MailKind.COMING
    return keep_mail(
        deed,
        kind.value,
        visit.customer_id,
        to,
        filled,
        link_days=1,
        visit_id=visit.id,
        premises_id=visit.premises_id,
        invitation=_invitation(deed.session, desk, visit, kind, to) if invited else "",
    )


def send_recall(deed: Deed, desk: Desk, premises_id: int, to: str, text: MailText, printed: bool = False) -> MailRow:
    """Put a recall letter into the outbox, or keep it as printed. Raises Mistakes."""
    premises = get_premises(deed.session, premises_id)
    values = fill_recall_values(deed.session, premises, deed.doer.name, desk)
    kind = MailKind.RECALL
    to, filled = _letter(deed, kind, to, text, values, printed)
    return keep_mail(deed, kind.value, premises.customer_id, to, filled, link_days=1, premises_id=premises.id)


def draw_letter(desk: Desk, mail_id: int) -> bytes:
    """A message as a letter on the firm's paper, as PDF; made anew each time, it has no number."""
    with desk.reading_only() as session:
        mail, firm = get_mail(session, mail_id), get_firm(session)
        holder = facts_of_account_holder(session, mail.customer_id)
        day = mail.made_at.astimezone(desk.zone).date()
        data = reminder_from(firm.facts, holder, ReminderText(mail.subject, mail.body), day)
        logo = firm.logo_png
    return draw_paper("reminder", data, logo)


def _days(visit: VisitRow) -> str:
    """The day in words; of several days the first and the last, and how many where others lie between."""
    first, last = (f"{day:%A} {say_day(day)}" for day in (visit.booked_on, visit.until))
    if visit.last_on is None:
        return first
    many = len(visit.held)
    gaps = "" if (visit.until - visit.booked_on).days + 1 == many else f", {many} working days"
    return f"from {first} to {last}{gaps}"


def _spread(visit: VisitRow, text: MailText) -> MailText:
    """The text for a visit of several days: 'on {day}' would read 'on from'."""
    if visit.last_on is None:
        return text
    return MailText(text.subject.replace("on {day}", "{day}"), text.body.replace("on {day}", "{day}"))


def _letter(
    deed: Deed, kind: MailKind, to: str, text: MailText, values: dict[str, str], printed: bool
) -> tuple[str, MailText]:
    """Where a letter goes, nowhere if it is printed, and its words with their values. Raises Mistakes."""
    if find_mail_server(deed.session) is None and not printed:
        raise Refused("There is no mail server yet, so nothing can be sent from here. Print the letter instead.")
    filled, mistakes = check_filled_text(text, kind, values)
    if LINK in filled.body:
        mistakes["body"] = "There are no papers yet that a link could open. Take {link} out."
    if not printed and (sentence := check_mail_address(to)):
        mistakes["to"] = sentence
    if mistakes:
        raise Mistakes(mistakes)
    return "" if printed else to, filled


def _invitation(session: Session, desk: Desk, visit: VisitRow, kind: MailKind, to: str) -> str:
    firm, server = get_firm(session), find_mail_server(session)
    sender = server.from_address if server is not None else firm.email
    parties = Parties(firm.name, sender, visit.customer.name, to)
    title = f"Inspection and test by {firm.name}"
    words = f"{visit.technician.name} comes to inspect and test the electrical equipment."
    method = Method.CANCEL if kind == MailKind.CALLED_OFF else Method.REQUEST
    return invitation_from(method, describe_visit_at(visit, title, words), parties, desk.zone)
