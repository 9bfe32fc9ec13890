"""Letters about recalled products: written from what was confirmed, kept in their words, printed or e-mailed."""

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.actions.kept_mails import keep_mail
from app.actions.paper_files import draw_paper
from app.documents.recall_letter import recall_letter_from
from app.rules.file_names import suggest_file_name
from app.rules.items import ItemState
from app.rules.mail_texts import MailText
from app.rules.mails import check_header, check_mail_address
from app.rules.recall_letters import RecalledItem, RecallLetter, check_recall_letter, suggest_recall_letter
from app.rules.recalls import HitState
from app.rules.verdicts import Mistakes, Refused
from app.store.accounts import facts_of_account_holder
from app.store.firms import get_firm
from app.store.mails import RECALL_LETTER, MailAttachmentRow, MailRow, find_mail_server
from app.store.recalls import RecallHitRow, RecallLetterRow, get_recall_letter, list_recall_hits

MAIL_KIND = "recalled products"


def write_recall_letter(session: Session, customer_id: int, sender: str) -> tuple[RecallLetter, list[RecallHitRow]]:
    """The first words of a letter about every confirmed item that no letter names yet. Writes nothing."""
    hits = list_recall_hits(session, HitState.CONFIRMED, customer_id, without_letter=True)
    holder = facts_of_account_holder(session, customer_id)
    items = [
        RecalledItem(
            hit.item.number,
            hit.item.description,
            f"{hit.item.location.name}, {hit.item.premises.name}",
            hit.recall_notice.notice,
            hit.item.state == ItemState.OUT_OF_USE,
        )
        for hit in hits
    ]
    contact = holder.contact or holder.name
    return suggest_recall_letter(contact, get_firm(session).name, sender, items), hits


def keep_recall_letter(deed: Deed, customer_id: int, letter: RecallLetter) -> RecallLetterRow:
    """Keep a letter about the confirmed items that no letter names yet. Raises Mistakes."""
    if mistakes := check_recall_letter(letter):
        raise Mistakes(mistakes)
    _, hits = write_recall_letter(deed.session, customer_id, deed.doer.name)
    if not hits:
        raise Refused("No confirmed recall of this customer waits for a letter.")
    row = RecallLetterRow(
        customer_id=customer_id, subject=letter.subject, body=letter.body, made_at=deed.now, made_by_id=deed.doer.id
    )
    deed.session.add(row)
    deed.session.flush()
    for hit in hits:
        hit.recall_letter_id = row.id
    deed.session.flush()
    numbers = ", ".join(hit.item.number for hit in hits)
    deed.note("customer", customer_id, f"Wrote a letter about recalled products: {numbers}.")
    return row


def draw_recall_letter(desk: Desk, recall_letter_id: int) -> bytes:
    """The letter as a PDF, from its own words; it has no number."""
    with desk.reading_only() as session:
        row, firm = get_recall_letter(session, recall_letter_id), get_firm(session)
        holder = facts_of_account_holder(session, row.customer_id)
        day = row.made_at.astimezone(desk.zone).date()
        data = recall_letter_from(firm.facts, holder, RecallLetter(row.subject, row.body), day)
        logo = firm.logo_png
    return draw_paper("reminder", data, logo)


def post_recall_letter(deed: Deed, recall_letter_id: int, to: str) -> MailRow:
    """Put a letter into the outbox, as the text of an e-mail and attached. Raises Mistakes."""
    row = get_recall_letter(deed.session, recall_letter_id)
    if find_mail_server(deed.session) is None:
        raise Refused("There is no mail server yet, so nothing can be sent from here. Print the letter instead.")
    if sentence := check_mail_address(to) or check_header(row.subject):
        raise Mistakes({"to": sentence})
    text = MailText(row.subject, row.body)
    name = suggest_file_name("letter", "", row.customer.name, deed.today)
    letter = MailAttachmentRow(paper_kind=RECALL_LETTER, paper_id=row.id, file_name=name)
    return keep_mail(deed, MAIL_KIND, row.customer_id, to, text, link_days=0, attachments=[letter])
