"""Writing reminder letters from the firm's own texts, and noting that one was sent."""

from datetime import date

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.actions.paper_files import draw_paper
from app.documents.reminder import reminder_from
from app.documents.typesetting import day_from
from app.rules.money import convert_from_pence
from app.rules.payments import OpenInvoice
from app.rules.reminders import (
    ReminderText,
    Tone,
    check_reminder_text,
    describe_reminder,
    suggest_tone,
)
from app.rules.verdicts import Mistakes, Refused
from app.store.accounts import facts_of_account_holder
from app.store.firms import get_firm
from app.store.invoices import list_open_invoices
from app.store.reminders import (
    ReminderRow,
    ReminderTextRow,
    find_reminder_text,
    get_reminder_text,
    list_reminders,
)


def write_reminder(
    session: Session, customer_id: int, tone: Tone, sender: str, today: date
) -> tuple[ReminderText, list[OpenInvoice]]:
    """Fill the firm's text of a tone for what a customer owes overdue; gives it with the invoices. Writes nothing."""
    values, overdue = fill_reminder_values(session, customer_id, sender, today)
    return describe_reminder(get_reminder_text(session, tone), values), overdue


def fill_reminder_values(
    session: Session, customer_id: int, sender: str, today: date
) -> tuple[dict[str, str], list[OpenInvoice]]:
    """What the placeholders of a reminder stand for, and the overdue invoices, oldest first. Refuses without any."""
    holder, firm = facts_of_account_holder(session, customer_id), get_firm(session).facts
    overdue = [each for each in list_open_invoices(session, customer_id) if each.due_on < today]
    if not overdue:
        raise Refused(f"Nothing is overdue from {holder.name}.")
    bank = firm.bank
    how = (
        f"Please pay to {bank.account_name}, sort code {bank.sort_code}, account {bank.account_number}, quoting the "
        "number of the invoice."
        if bank
        else ""
    )
    lines = [
        f"{each.number}, due on {day_from(each.due_on)}: {_pounds(each.owed_pence)}"
        + (f" (your reference {each.reference})" if each.reference else "")
        for each in overdue
    ]
    values = {
        "contact": holder.contact or holder.name,
        "customer": holder.name,
        "invoices": "\n".join(lines),
        "total": _pounds(sum(each.owed_pence for each in overdue)),
        "oldest due": day_from(overdue[0].due_on),
        "days late": str((today - overdue[0].due_on).days),
        "how to pay": how,
        "firm": firm.trading_name or firm.legal_name,
        "sender": sender,
    }
    return values, overdue


def suggest_next_tone(session: Session, customer_id: int, today: date) -> Tone:
    """The tone after the letters that were sent about what is overdue now."""
    overdue = {each.number for each in list_open_invoices(session, customer_id) if each.due_on < today}
    sent = [row for row in list_reminders(session, customer_id) if overdue & set(row.invoice_numbers)]
    return suggest_tone(len(sent))


def draw_reminder(desk: Desk, customer_id: int, text: ReminderText) -> bytes:
    """The letter as a PDF, made anew each time; it has no number."""
    with desk.reading_only() as session:
        firm, holder = get_firm(session), facts_of_account_holder(session, customer_id)
        data, logo = reminder_from(firm.facts, holder, text, desk.today), firm.logo_png
    return draw_paper("reminder", data, logo)


def note_reminder_sent(
    deed: Deed, customer_id: int, tone: Tone, words: ReminderText | None = None, waits: bool = False
) -> ReminderRow:
    """Note that the letter of this tone was sent today, with its words; those of the firm's text where none are given.

    waits: it is an e-mail that has not left yet, and counts once it has.
    """
    text, overdue = write_reminder(deed.session, customer_id, tone, deed.doer.name, deed.today)
    text = words or text
    row = ReminderRow(
        customer_id=customer_id,
        tone=tone.value,
        sent_on=deed.today,
        subject=text.subject,
        body=text.body,
        invoice_numbers=[each.number for each in overdue],
        recorded_at=deed.now,
        recorded_by_id=deed.doer.id,
        waits=waits,
    )
    deed.session.add(row)
    deed.session.flush()
    numbers, did = ", ".join(row.invoice_numbers), "Wrote" if waits else "Sent"
    deed.note("customer", customer_id, f"{did} the {tone.value} reminder about {numbers}.")
    for each in overdue:
        deed.note("invoice", each.id, f"{did} the {tone.value} reminder.")
    return row


def change_reminder_text(deed: Deed, tone: Tone, text: ReminderText) -> None:
    """Change the firm's text of a tone. Raises Mistakes for a placeholder that there is not."""
    if mistakes := check_reminder_text(text):
        raise Mistakes({f"{tone.value}_{name}": sentence for name, sentence in mistakes.items()})
    row = find_reminder_text(deed.session, tone)
    if row is None:
        row = ReminderTextRow(tone=tone.value, subject="", body="")
        deed.session.add(row)
    if (row.subject, row.body) != (text.subject, text.body):
        row.subject, row.body = text.subject, text.body
        deed.note("firm", 1, f"Changed the text of the {tone.value} reminder.")
    deed.session.flush()


def _pounds(pence: int) -> str:
    return f"£{convert_from_pence(pence):,.2f}"
