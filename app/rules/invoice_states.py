"""Where an invoice stands: a draft, waiting for its money, paid in part or in full, credited, or past the day
it was due.
"""

from datetime import date
from enum import StrEnum


class InvoiceState(StrEnum):
    DRAFT = "draft"
    ISSUED = "issued"
    PART_PAID = "part paid"
    OVERDUE = "overdue"
    PAID = "paid"
    CREDITED = "credited"


def judge_invoice(
    kept_state: str, gross_pence: int, paid_pence: int, due_on: date | None, today: date, credited_pence: int = 0
) -> InvoiceState:
    """Say where an invoice stands today. kept_state is what the store keeps: draft, pending or issued.

    gross_pence: with what was claimed for late payment. An invoice that credit notes took back as a whole is credited.
    """
    if kept_state == "draft":
        return InvoiceState.DRAFT
    if credited_pence and credited_pence >= gross_pence:
        return InvoiceState.CREDITED
    if paid_pence + credited_pence >= gross_pence:
        return InvoiceState.PAID
    if due_on is not None and due_on < today:
        return InvoiceState.OVERDUE
    return InvoiceState.PART_PAID if paid_pence > 0 else InvoiceState.ISSUED
