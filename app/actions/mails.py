"""The outbox: writing a message to a customer, sending it, trying again, and stopping it.

A message is sent in three steps: marked as being sent (committed), handed to the server, marked as sent (committed).
When the program ends between the second and the third, nobody can tell whether the server had the message; it is sent
again under the same Message-ID and then says that it may have been sent twice.
"""

import hashlib
from datetime import timedelta

from sqlalchemy.orm import Session

from app.actions.certificates import open_certificate
from app.actions.deeds import Deed, Desk, say_day
from app.actions.invoices import open_invoice
from app.actions.kept_mails import keep_mail
from app.actions.mail_servers import (
    Attachment,
    NotSent,
    compose,
    deliver,
    open_password,
)
from app.actions.people import hash_of
from app.actions.recall_letters import draw_recall_letter
from app.actions.share_links import make_share_link
from app.rules.certificates import Standing
from app.rules.file_names import suggest_file_name
from app.rules.mails import (
    ATTACHED_BYTES_MOST,
    LINK,
    MailKind,
    MailState,
    MailText,
    check_mail_address,
    check_mail_text,
    describe_mail,
    next_wait,
)
from app.rules.money import convert_from_pence
from app.rules.share_links import DAYS_USUAL
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import CertificateRow, find_certificate_of_visit
from app.store.database import Missing
from app.store.firms import get_firm
from app.store.invoices import InvoiceRow, find_invoice_of_visit
from app.store.mails import (
    MailRow,
    find_mail_server,
    get_mail,
    get_mail_text,
    list_mails_broken_off,
    list_mails_to_send,
)
from app.store.paper_parts import list_paper_parts
from app.store.share_links import find_share_link, get_share_link
from app.store.visits import VisitRow, get_visit


def fill_mail_values(session: Session, visit: VisitRow, kind: MailKind, sender: str) -> dict[str, str]:
    """What the placeholders stand for in a message about a visit; {link} stays. Refuses before there is a paper."""
    customer = visit.customer
    values = {
        "contact": customer.contacts[0].name if customer.contacts else customer.name,
        "customer": customer.name,
        "premises": visit.premises.name,
        "day": say_day(visit.finished_on or visit.booked_on),
        "number": "",
        "amount": "",
        "due": "",
        "firm": get_firm(session).name,
        "sender": sender,
    }
    certificate, invoice = _papers(session, visit, kind)
    if kind != MailKind.INVOICE:
        return values | {"number": certificate.number if certificate else ""}
    assert invoice is not None
    amount = f"£{convert_from_pence(invoice.owed_pence):,.2f}"
    due = say_day(invoice.due_on) if invoice.due_on else ""
    return values | {"number": invoice.number or "", "amount": amount, "due": due}


def write_mail(session: Session, visit: VisitRow, kind: MailKind, sender: str) -> tuple[str, MailText]:
    """The address and the firm's text, filled for a visit, for somebody to look over. Writes nothing."""
    emails = [contact.email for contact in visit.customer.contacts if contact.email] + [visit.customer.email]
    return emails[0], describe_mail(get_mail_text(session, kind), fill_mail_values(session, visit, kind, sender))


def put_in_outbox(
    deed: Deed, visit_id: int, kind: MailKind, to: str, text: MailText, attach: bool = True, days: int = DAYS_USUAL
) -> MailRow:
    """Put a message about a visit into the outbox, to be sent at once. Raises Mistakes.

    attach: whether the paper goes with it; days: how long the link opens, where the text has one.
    """
    visit = get_visit(deed.session, visit_id)
    server = find_mail_server(deed.session)
    if server is None:
        raise Refused("There is no mail server yet, so nothing can be sent from here. Copy the text instead.")
    certificate, invoice = _papers(deed.session, visit, kind)
    values = fill_mail_values(deed.session, visit, kind, deed.doer.name)
    mistakes = check_mail_text(text, values)
    if sentence := check_mail_address(to):
        mistakes["to"] = sentence
    if not 1 <= days <= 365:
        mistakes["days"] = "A link can live from 1 to 365 days."
    filled = describe_mail(text, values)
    if LINK not in filled.body and kind == MailKind.LINK and "body" not in mistakes:
        mistakes["body"] = "Leave {link} where the address of the link is to stand."
    mistakes |= {name: said for name, said in check_mail_text(filled, values).items() if name not in mistakes}
    attach = attach and kind != MailKind.LINK
    size = (invoice.size_bytes if invoice else certificate.size_bytes if certificate else 0) if attach else 0
    if size > ATTACHED_BYTES_MOST:
        mistakes["attach"] = "This paper is too large for e-mail. Send the link instead."
    in_parts = list_paper_parts(deed.session, "certificate", certificate.id) if certificate and not invoice else []
    if attach and in_parts and LINK not in filled.body and "attach" not in mistakes:
        mistakes["attach"] = (
            f"This certificate has {len(in_parts)} more files, and an e-mail takes only its cover. Leave {LINK} in the "
            "message, so that the customer finds the others."
        )
    if mistakes:
        raise Mistakes(mistakes)
    return keep_mail(
        deed,
        kind.value,
        visit.customer_id,
        to,
        filled,
        days,
        visit_id=visit.id,
        certificate_id=certificate.id if attach and certificate and not invoice else None,
        invoice_id=invoice.id if attach and invoice else None,
    )


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
        deliver(details, open_password(desk.keys_folder), message)
    except NotSent as problem:
        return _note_failure(desk, mail_id, problem)
    except (Refused, Missing, Mistakes, ValueError) as problem:
        return _note_failure(desk, mail_id, NotSent(getattr(problem, "sentence", str(problem)), final=True))
    with desk.doing(None) as deed:
        row = get_mail(deed.session, mail_id, locked=True)
        row.state, row.sent_at, row.problem = MailState.SENT.value, deed.now, ""
        row.attachment_sha256 = hashlib.sha256(attached.content).hexdigest() if attached else ""
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


def _papers(session: Session, visit: VisitRow, kind: MailKind) -> tuple[CertificateRow | None, InvoiceRow | None]:
    """The certificate that holds and, for a message about it, the invoice. Refuses when its paper is not issued."""
    certificate = find_certificate_of_visit(session, visit.id)
    if certificate is not None and certificate.standing != Standing.ISSUED:
        certificate = None
    invoice = find_invoice_of_visit(session, visit.id) if kind == MailKind.INVOICE else None
    if kind == MailKind.INVOICE and (invoice is None or invoice.state != "issued"):
        raise Refused("The invoice is not issued yet.")
    if kind != MailKind.INVOICE and certificate is None:
        raise Refused("The certificate of this visit is not issued yet.")
    return certificate, invoice


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
    """The address of a new link, made for this attempt alone."""
    if row.visit_id is None:
        raise Refused("There are no papers to open a link to.")
    token = make_share_link(deed, row.visit_id, row.link_days, f"E-mail {row.id} to {row.to_address}"[:100])
    made = find_share_link(deed.session, hash_of(token))
    assert made is not None
    row.share_link_id = made.id
    return f"{desk.public_address}/s/{token}"


def _attached(desk: Desk, session: Session, mail: MailRow) -> Attachment | None:
    """The paper, checked against its hash; a letter is drawn from its own words."""
    mail = get_mail(session, mail.id)
    if mail.recall_letter_id is not None:
        name = suggest_file_name("letter", "", mail.customer.name, desk.today)
        return Attachment(name, draw_recall_letter(desk, mail.recall_letter_id))
    if (invoice := mail.invoice) is not None:
        day = invoice.issued_on or desk.today
        name = suggest_file_name("invoice", invoice.number or "", invoice.customer.name, day)
        return Attachment(name, open_invoice(desk, invoice))
    if (certificate := mail.certificate) is not None:
        place = certificate.visit.premises.name
        name = suggest_file_name("certificate", certificate.number, place, certificate.issued_on)
        return Attachment(name, open_certificate(desk, certificate))
    return None


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
