"""Recording money that came and went, sharing it among invoices, and taking back what was recorded by mistake."""

from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, say_day
from app.rules.money import convert_from_pence
from app.rules.payments import (
    Direction,
    Method,
    PaymentDetails,
    check_payment,
    check_shares,
    next_shares_after,
)
from app.rules.verdicts import Mistakes, Refused
from app.store.bank_lines import get_bank_line
from app.store.customers import get_customer
from app.store.invoices import InvoiceRow, facts_of_open_invoice, get_invoice
from app.store.payments import (
    PaymentRow,
    PaymentShareRow,
    count_held_pence,
    get_payment,
    list_payments,
)


def record_payment(
    deed: Deed,
    invoice_id: int,
    paid_on: date,
    pence: int,
    reference: str = "",
    method: Method = Method.BANK_TRANSFER,
) -> PaymentRow:
    """Record a payment that came for one invoice. What is more than is owed is held as the customer's credit."""
    row = get_invoice(deed.session, invoice_id)
    get_customer(deed.session, row.customer_id, locked=True)
    [row] = _lock_invoices(deed, row.customer_id, {invoice_id: pence})
    share = min(pence, row.owed_pence)
    shares = {row.id: share} if share > 0 else {}
    return take_payment(deed, row.customer_id, PaymentDetails(paid_on, pence, method, reference), shares)


def take_payment(
    deed: Deed,
    customer_id: int,
    details: PaymentDetails,
    shares: Mapping[int, int],
    bank_line_id: int | None = None,
) -> PaymentRow:
    """Record money from a customer. shares: pence by invoice id; the rest is held as credit. Raises Mistakes.

    bank_line_id: the line of a bank statement that tells of it, which is booked by this.
    """
    customer = get_customer(deed.session, customer_id, locked=True)
    mistakes = check_payment(details, deed.today)
    invoices = _lock_invoices(deed, customer_id, shares)
    mistakes |= check_shares([(facts_of_open_invoice(row), shares[row.id]) for row in invoices], details.pence)
    if mistakes:
        raise Mistakes(mistakes)
    if bank_line_id is not None:
        line = get_bank_line(deed.session, bank_line_id, locked=True)
        if line.state != "open":
            raise Refused("This line of the bank statement is dealt with already.")
        line.state = "booked"
    row = _new_row(deed, customer_id, Direction.RECEIVED, details)
    row.bank_line_id = bank_line_id
    row.shares = [PaymentShareRow(invoice_id=invoice.id, pence=shares[invoice.id]) for invoice in invoices]
    deed.session.add(row)
    deed.session.flush()
    for invoice in invoices:
        deed.session.expire(invoice, ["shares"])
        said = f"{_pounds(shares[invoice.id])} of it" if shares[invoice.id] != details.pence else "it"
        deed.note(
            "invoice",
            invoice.id,
            f"Recorded a payment of {_pounds(details.pence)} on {say_day(details.paid_on)}, {said} for this invoice.",
        )
    held = f", {_pounds(row.held_pence)} of it held as credit" if row.held_pence else ""
    deed.note("customer", customer.id, f"Recorded a payment of {_pounds(details.pence)}{held}.")
    return row


def refund_customer(deed: Deed, customer_id: int, details: PaymentDetails) -> PaymentRow:
    """Record money that went back to a customer, out of what is held for them. Raises Mistakes."""
    customer = get_customer(deed.session, customer_id, locked=True)
    mistakes = check_payment(details, deed.today)
    held = count_held_pence(deed.session, customer_id)
    if "amount" not in mistakes and details.pence > held:
        mistakes["amount"] = f"{_pounds(held)} is held for this customer; more cannot go back."
    if mistakes:
        raise Mistakes(mistakes)
    row = _new_row(deed, customer_id, Direction.REFUNDED, details)
    deed.session.add(row)
    deed.session.flush()
    deed.note("customer", customer.id, f"Recorded a refund of {_pounds(details.pence)}.")
    return row


def match_credit(deed: Deed, customer_id: int, shares: Mapping[int, int]) -> None:
    """Put what is held for a customer to invoices, out of the oldest payments first. Raises Mistakes."""
    get_customer(deed.session, customer_id, locked=True)
    invoices = _lock_invoices(deed, customer_id, shares)
    if not invoices:
        raise Mistakes({"": "Say how much goes to which invoice."})
    held = count_held_pence(deed.session, customer_id)
    if mistakes := check_shares([(facts_of_open_invoice(row), shares[row.id]) for row in invoices], held):
        raise Mistakes(mistakes)
    payments = [row for row in reversed(list_payments(deed.session, customer_id, removed=False)) if row.held_pence > 0]
    for invoice in invoices:
        wanted = shares[invoice.id]
        for payment in payments:
            part = min(wanted, payment.held_pence)
            if part > 0:
                _add_share(payment, invoice.id, part)
                wanted -= part
        deed.session.flush()
        deed.session.expire(invoice, ["shares"])
        deed.note("invoice", invoice.id, f"Put {_pounds(shares[invoice.id])} of the customer's credit to this invoice.")


def unmatch_payment(deed: Deed, payment_id: int, share_id: int) -> PaymentRow:
    """Take a payment's share off an invoice; it is held as the customer's credit from then on."""
    payment = get_payment(deed.session, payment_id)
    get_customer(deed.session, payment.customer_id, locked=True)
    share = next((each for each in payment.shares if each.id == share_id), None)
    if share is None:
        raise Refused("This payment does not pay that invoice any more.")
    invoice = get_invoice(deed.session, share.invoice_id, locked=True)
    payment.shares.remove(share)
    deed.session.flush()
    deed.session.expire(invoice, ["shares"])
    deed.note("invoice", invoice.id, f"Took {_pounds(share.pence)} off this invoice; it is held as credit.")
    return payment


def remove_payment(deed: Deed, payment_id: int, reason: str) -> PaymentRow:
    """Mark a payment as recorded by mistake; its invoices are owed again. Raises Mistakes without a reason."""
    row = get_payment(deed.session, payment_id)
    get_customer(deed.session, row.customer_id, locked=True)
    deed.session.refresh(row)
    if row.removed_at is not None:
        raise Refused("This payment is removed already.")
    if not reason.strip():
        raise Mistakes({"reason": "Say why it is removed; the journal keeps the reason."})
    if row.direction == Direction.RECEIVED and row.held_pence > count_held_pence(deed.session, row.customer_id):
        raise Refused("Some of this payment went back to the customer. Remove that refund first.")
    for share in row.shares:
        get_invoice(deed.session, share.invoice_id, locked=True)
        deed.note(
            "invoice",
            share.invoice_id,
            f"Removed the payment of {_pounds(row.pence)} on {say_day(row.paid_on)}: {reason.strip()}",
        )
    row.shares.clear()
    row.removed_at, row.removed_reason = deed.now, reason.strip()
    if row.bank_line_id is not None:
        get_bank_line(deed.session, row.bank_line_id, locked=True).state = "open"
    word = "refund" if row.direction == Direction.REFUNDED else "payment"
    deed.note("customer", row.customer_id, f"Removed the {word} of {_pounds(row.pence)}: {reason.strip()}")
    deed.session.flush()
    return row


def release_excess(deed: Deed, invoice: InvoiceRow) -> int:
    """Give back what payments hold on an invoice beyond what is to be paid on it; gives the pence.

    Called after a credit note or a withdrawn claim has made the invoice smaller. The latest shares give way first.
    """
    session: Session = deed.session
    session.flush()
    session.expire(invoice, ["shares", "credit_notes", "claims"])
    before = [share.pence for share in invoice.shares]
    kept = next_shares_after(before, invoice.owed_pence + sum(before))
    for share, pence in zip(list(invoice.shares), kept, strict=True):
        if pence == 0:
            share.payment.shares.remove(share)
        else:
            share.pence = pence
    session.flush()
    session.expire(invoice, ["shares"])
    released = sum(before) - sum(kept)
    if released:
        deed.note("invoice", invoice.id, f"{_pounds(released)} paid on it is held as the customer's credit now.")
    return released


def _lock_invoices(deed: Deed, customer_id: int, invoice_ids: Mapping[int, int]) -> Sequence[InvoiceRow]:
    """The invoices of a customer, locked in one order so that two deeds never wait for each other."""
    rows = [get_invoice(deed.session, invoice_id, locked=True) for invoice_id in sorted(invoice_ids)]
    for row in rows:
        deed.session.expire(row, ["shares", "credit_notes", "claims"])  # read what others did before the lock was ours
        if row.customer_id != customer_id:
            raise Refused("This invoice belongs to another customer.")
        if row.state != "issued":
            raise Refused("Only an issued invoice can be paid.")
    return rows


def _new_row(deed: Deed, customer_id: int, direction: Direction, details: PaymentDetails) -> PaymentRow:
    return PaymentRow(
        customer_id=customer_id,
        direction=direction.value,
        paid_on=details.paid_on,
        pence=details.pence,
        method=details.method.value,
        reference=details.reference.strip(),
        recorded_at=deed.now,
        recorded_by_id=deed.person.id if deed.person else None,
        removed_reason="",
    )


def _add_share(payment: PaymentRow, invoice_id: int, pence: int) -> None:
    for share in payment.shares:
        if share.invoice_id == invoice_id:
            share.pence += pence
            return
    payment.shares.append(PaymentShareRow(invoice_id=invoice_id, pence=pence))


def _pounds(pence: int) -> str:
    return f"£{convert_from_pence(pence):,.2f}"
