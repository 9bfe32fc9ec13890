"""Invented papers about money after an invoice is issued: a credit note, a claim, a statement and a reminder."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from app.documents.claim import claim_from
from app.documents.credit_note import credit_note_from
from app.documents.reminder import reminder_from
from app.documents.statement import StatementFacts, statement_from
from app.rules.credit_notes import CreditNoteFacts, CreditWish, list_credit_lines, list_creditable_parts, total_credit
from app.rules.late_payments import LateClaimFacts, total_late_claim
from app.rules.reminders import FIRST_TEXTS, ReminderText, Tone, describe_reminder
from app.rules.statements import AccountEntry, Debt, Movement, total_statement
from tests.documents.sample_papers import CUSTOMER, FIRM, PREMISES, invoice

DAY = date(2026, 3, 5)


def credit_note_data(*, registered: bool = True, reason: str = "Counted twice") -> dict[str, Any]:
    facts = invoice(40, registered=registered)
    parts = list_creditable_parts(facts.lines)
    lines = list_credit_lines(parts, [CreditWish(0, quantity=Decimal(2)), CreditWish(3, amount=Decimal("5.00"))])
    return credit_note_from(
        CreditNoteFacts(
            "CN-000007", facts.firm, CUSTOMER, DAY + timedelta(days=9), facts.number, DAY, DAY, reason, lines,
            total_credit(parts, lines), Decimal("71.20"), registered, "GB 999 9999 73" if registered else "",
            premises=PREMISES, customer_reference="PO 1188",
        )
    )  # fmt: skip


def claim_data() -> dict[str, Any]:
    due = DAY + timedelta(days=30)
    paid = [(due + timedelta(days=10), Decimal("40.00"))]
    claim = total_late_claim(Decimal("83.46"), paid, due, due + timedelta(days=60), Decimal("3.75"))
    facts = LateClaimFacts(
        "LP-000002", FIRM, CUSTOMER, due + timedelta(days=60), "INV-000045", DAY, claim, date(2025, 12, 18),
        "the Bank of England's page",
    )  # fmt: skip
    return claim_from(facts)


def statement_data(movements: int = 6) -> dict[str, Any]:
    """So many invoices, each second one paid."""
    entries, debts = [], []
    for place in range(movements):
        day, number = DAY + timedelta(days=9 * place), f"INV-{place + 1:06d}"
        due = day + timedelta(days=30)
        entries.append(AccountEntry(day, Movement.INVOICE, 8346, number, due_on=due))
        settled: tuple[tuple[date, int], ...] = ()
        if place % 2:
            settled = ((day + timedelta(days=20), 8346),)
            entries.append(AccountEntry(day + timedelta(days=20), Movement.PAYMENT, 8346, "BACS"))
        debts.append(Debt(number, day, due, ((day, 8346),), settled))
    end = DAY + timedelta(days=9 * movements + 60)
    return statement_from(StatementFacts(FIRM, CUSTOMER, total_statement(entries, debts, DAY, end), end))


def reminder_data(text: ReminderText = FIRST_TEXTS[Tone.FINAL]) -> dict[str, Any]:
    values = {
        "contact": "Ruth Askew", "customer": CUSTOMER.name, "invoices": "INV-000045, due on 4 April 2026: £83.46",
        "total": "£83.46", "oldest due": "4 April 2026", "days late": "60", "how to pay": "Please pay to 00-00-00.",
        "firm": FIRM.trading_name, "sender": "Bea Holm",
    }  # fmt: skip
    return reminder_from(FIRM, CUSTOMER, describe_reminder(text, values), DAY)
