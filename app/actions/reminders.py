"""Writing reminder letters from the firm's own texts, and noting that one was sent."""

from datetime import date

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk
from app.actions.paper_files import draw_paper
from app.documents.reminder import reminder_from
from app.documents.typesetting import day_from
from app.rules.certificates import CustomerFacts
from app.rules.letterheads import FirmFacts
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
from app.store.customers import get_customer
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
    customer, firm = get_customer(session, customer_id), get_firm(session)
    overdue = [each for each in list_open_invoices(session, customer_id) if each.due_on < today]
    if not overdue:
        raise Refused(f"Nothing is overdue from {customer.name}.")
    holder = facts_of_account_holder(session, customer_id)
    return _filled(get_reminder_text(session, tone), holder, firm.facts, overdue, sender, today), overdue


def _filled(
    text: ReminderText,
    customer: CustomerFacts,
    firm: FirmFacts,
    overdue: list[OpenInvoice],
    sender: str,
    today: date,
) -> ReminderText:
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
    return describe_reminder(
        text,
        {
            "contact": customer.contact or customer.name,
            "customer": customer.name,
            "invoices": "\n".join(lines),
            "total": _pounds(sum(each.owed_pence for each in overdue)),
            "oldest due": day_from(overdue[0].due_on),
            "days late": str((today - overdue[0].due_on).days),
            "how to pay": how,
            "firm": firm.trading_name or firm.legal_name,
            "sender": sender,
        },
    )


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


def note_reminder_sent(deed: Deed, customer_id: int, tone: Tone) -> ReminderRow:
    """Note that the letter of this tone was sent today, with its words."""
    customer = get_customer(deed.session, customer_id)
    text, overdue = write_reminder(deed.session, customer_id, tone, deed.doer.name, deed.today)
    row = ReminderRow(
        customer_id=customer.id,
        tone=tone.value,
        sent_on=deed.today,
        subject=text.subject,
        body=text.body,
        invoice_numbers=[each.number for each in overdue],
        recorded_at=deed.now,
        recorded_by_id=deed.doer.id,
    )
    deed.session.add(row)
    deed.session.flush()
    numbers = ", ".join(row.invoice_numbers)
    deed.note("customer", customer.id, f"Sent the {tone.value} reminder about {numbers}.")
    for each in overdue:
        deed.note("invoice", each.id, f"Sent the {tone.value} reminder.")
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
