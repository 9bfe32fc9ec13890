"""What became of the demo's invoices: base rates, a credit, money in part, a letter, and a bank statement to book."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from app.actions.bank_lines import take_in_statement, upload_statement
from app.actions.base_rates import enter_base_rate
from app.actions.credit_notes import CreditRequest, issue_credit_note
from app.actions.payments import record_payment
from app.actions.reminders import note_reminder_sent
from app.rules.bank_statements import Mapping
from app.rules.base_rates import BaseRateDetails
from app.rules.credit_notes import CreditWish
from app.rules.payments import OpenInvoice
from app.rules.reminders import Tone
from app.store.invoices import list_open_invoices

#: The Bank of England's base rate, from memory: the firm enters what it reads there.
RATES = (
    (date(2023, 8, 3), "5.25"),
    (date(2024, 8, 1), "5"),
    (date(2024, 11, 7), "4.75"),
    (date(2025, 2, 6), "4.5"),
    (date(2025, 5, 8), "4.25"),
    (date(2025, 8, 7), "4"),
    (date(2025, 12, 18), "3.75"),
)
SOURCE = "Bank of England, as remembered for this demo"


def settle_demo(demo: Any) -> None:
    """Tell what happened to the invoices that are still open, up to yesterday."""
    demo.go_to(demo.today - timedelta(days=6), 11)
    with demo.desk.doing(demo.office) as deed:
        for valid_from, percent in RATES:
            if valid_from <= deed.today:
                enter_base_rate(deed, BaseRateDetails(valid_from, Decimal(percent), SOURCE))
        open_now = list_open_invoices(deed.session)
    late = [invoice for invoice in open_now if invoice.due_on < demo.desk.today]
    if not late:
        return
    partly, credited = late[0], late[-1]
    with demo.desk.doing(demo.office) as deed:
        half = partly.owed_pence // 2 // 1000 * 1000 or partly.owed_pence // 2
        record_payment(deed, partly.id, deed.today - timedelta(days=2), half, "first half")
    if credited.id != partly.id:
        wish = CreditWish(0, quantity=Decimal(2))
        reason = "Two items were counted twice"
        issue_credit_note(demo.desk, demo.office, credited.id, CreditRequest((wish,), reason, demo.desk.today))
    with demo.desk.doing(demo.office) as deed:
        note_reminder_sent(deed, partly.customer_id, Tone.FRIENDLY)
    demo.go_to(demo.today - timedelta(days=1), 9)
    with demo.desk.doing(demo.office) as deed:
        statement = _statement(list_open_invoices(deed.session), demo.today)
        row = upload_statement(deed, "Current account", statement.encode())
        take_in_statement(deed, row.id, Mapping(day=0, text=1, amount=2))


def _statement(invoices: list[OpenInvoice], today: date) -> str:
    """A bank statement of yesterday: one payment that fits, one that is short, one that is nobody's, and the rent."""
    day = f"{today - timedelta(days=2):%d/%m/%Y}"
    rows = ["Date,Details,Amount"]
    if invoices:
        whole = invoices[-1]
        rows.append(f"{day},{whole.customer.upper()} {whole.number.replace('-', ' ')},{_pounds(whole.owed_pence)}")
        rows.append(f"{day},{invoices[0].customer.upper()} ON ACCOUNT,100.00")
    return "\n".join([*rows, f"{day},INTEREST,1.87", f"{day},OLD WEIGH HOUSE RENT,-640.00"]) + "\n"


def _pounds(pence: int) -> str:
    return f"{pence // 100}.{pence % 100:02d}"
