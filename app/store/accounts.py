"""Accounts of customers: every movement of money on them, and what was to be paid on each invoice, day by day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session, defer, selectinload

from app.rules.certificates import CustomerFacts
from app.rules.money import convert_from_pence
from app.rules.payments import Direction, Method
from app.rules.statements import AccountEntry, Ageing, Debt, Movement, total_ageing
from app.store.customers import CustomerRow, get_customer
from app.store.invoices import InvoiceRow
from app.store.paper_facts import facts_of_customer
from app.store.payments import PaymentRow, PaymentShareRow
from app.store.premises import list_premises


@dataclass(frozen=True)
class AgedAccount:
    """One customer in the list of what is owed by age."""

    customer_id: int
    customer: str
    ageing: Ageing
    oldest_due_on: date | None


def list_account_entries(session: Session, customer_id: int) -> list[AccountEntry]:
    """Every movement on a customer's account, in the order in which they are told for one day."""
    return _entries(_invoices(session, customer_id), _payments(session, customer_id))


def list_debts(session: Session, customer_id: int) -> list[Debt]:
    """The invoices of a customer with everything that changed what is to be paid on them."""
    return [_debt(row) for row in _invoices(session, customer_id)]


def list_aged_accounts(session: Session, day: date) -> list[AgedAccount]:
    """Every customer with something owed or held on a day, by name."""
    invoices: dict[int, list[InvoiceRow]] = {}
    for row in _invoices(session):
        invoices.setdefault(row.customer_id, []).append(row)
    payments: dict[int, list[PaymentRow]] = {}
    for payment in _payments(session):
        payments.setdefault(payment.customer_id, []).append(payment)
    names = {row[0]: row[1] for row in session.execute(select(CustomerRow.id, CustomerRow.name))}
    found = []
    for customer_id in invoices.keys() | payments.keys():
        rows = invoices.get(customer_id, [])
        debts = [_debt(row) for row in rows]
        ageing = total_ageing(_entries(rows, payments.get(customer_id, [])), debts, day)
        due = [debt.due_on for debt in debts if debt.issued_on <= day and debt.owed_on(day) > 0]
        if ageing.owed_pence or ageing.held_pence:
            found.append(AgedAccount(customer_id, names[customer_id], ageing, min(due, default=None)))
    return sorted(found, key=lambda each: each.customer.casefold())


def _invoices(session: Session, customer_id: int | None = None) -> list[InvoiceRow]:
    query = select(InvoiceRow).where(InvoiceRow.state != "draft")
    if customer_id is not None:
        query = query.where(InvoiceRow.customer_id == customer_id)
    query = query.options(
        selectinload(InvoiceRow.shares).selectinload(PaymentShareRow.payment),
        selectinload(InvoiceRow.credit_notes),
        selectinload(InvoiceRow.claims),
        defer(InvoiceRow.data),
    )
    return list(session.scalars(query.order_by(InvoiceRow.issued_on, InvoiceRow.id)))


def _payments(session: Session, customer_id: int | None = None) -> list[PaymentRow]:
    query = select(PaymentRow).where(PaymentRow.removed_at.is_(None))
    if customer_id is not None:
        query = query.where(PaymentRow.customer_id == customer_id)
    return list(session.scalars(query.order_by(PaymentRow.paid_on, PaymentRow.id)))


def _entries(invoices: Iterable[InvoiceRow], payments: Iterable[PaymentRow]) -> list[AccountEntry]:
    entries = []
    for row in invoices:
        here = f"/invoices/{row.id}"
        issued_on = row.issued_on or row.tax_point
        entries.append(AccountEntry(issued_on, Movement.INVOICE, row.gross_pence, row.number or "", here, row.due_on))
        for note in row.credit_notes:
            text = f"{note.number} for {row.number}"
            entries.append(
                AccountEntry(note.issued_on, Movement.CREDIT_NOTE, note.gross_pence, text, f"/credit-notes/{note.id}")
            )
        for claim in row.claims:
            text = f"{claim.number} for {row.number}"
            entries.append(AccountEntry(claim.issued_on, Movement.CLAIM, claim.total_pence, text, here))
            if claim.withdrawn_on is not None:
                entries.append(
                    AccountEntry(claim.withdrawn_on, Movement.CLAIM_WITHDRAWN, claim.total_pence, text, here)
                )
    for payment in payments:
        movement = Movement.REFUND if payment.direction == Direction.REFUNDED else Movement.PAYMENT
        text = payment.reference or Method(payment.method).word
        entries.append(AccountEntry(payment.paid_on, movement, payment.pence, text, f"/payments/{payment.id}"))
    return sorted(entries, key=lambda entry: entry.day)


def _debt(row: InvoiceRow) -> Debt:
    issued_on = row.issued_on or row.tax_point
    claims = [(claim.issued_on, claim.total_pence) for claim in row.claims]
    withdrawn = [(claim.withdrawn_on, claim.total_pence) for claim in row.claims if claim.withdrawn_on is not None]
    credited = [(note.issued_on, note.gross_pence) for note in row.credit_notes]
    paid = [(share.payment.paid_on, share.pence) for share in row.shares]
    return Debt(
        row.number or "",
        issued_on,
        row.due_on or issued_on,
        ((issued_on, row.gross_pence), *claims),
        (*credited, *withdrawn, *paid),
    )


@dataclass(frozen=True)
class StoryLine:
    """One thing that happened to an invoice, with what was to be paid on it afterwards. pence has its sign."""

    day: date
    movement: Movement
    text: str
    href: str
    pence: int
    owed_pence: int
    note: str = ""
    paper: str = ""


def list_story_of_invoice(row: InvoiceRow) -> list[StoryLine]:
    """Everything that changed what is to be paid on an issued invoice, in the order of days; nothing of a draft."""
    if row.state == "draft":
        return []
    issued_on = row.issued_on or row.tax_point
    told = [(issued_on, Movement.INVOICE, row.number or "", "", row.gross_pence, "", "")]
    for note in row.credit_notes:
        here = f"/credit-notes/{note.id}"
        told.append((note.issued_on, Movement.CREDIT_NOTE, note.number, here, -note.gross_pence, note.reason, ""))
    for claim in row.claims:
        paper = f"/claims/{claim.id}"
        told.append((claim.issued_on, Movement.CLAIM, claim.number, "", claim.total_pence, "", paper))
        if claim.withdrawn_on is not None:
            why = claim.withdrawn_reason
            told.append((claim.withdrawn_on, Movement.CLAIM_WITHDRAWN, claim.number, "", -claim.total_pence, why, ""))
    for share in row.shares:
        paid = share.payment
        text = ", ".join(part for part in (Method(paid.method).word, paid.reference) if part)
        whole = f"£{convert_from_pence(paid.pence):,.2f}"
        part = f"a part of {whole}" if share.pence != paid.pence else ""
        told.append((paid.paid_on, Movement.PAYMENT, text, f"/payments/{paid.id}", -share.pence, part, ""))
    order = {movement: place for place, movement in enumerate(Movement)}
    owed, lines = 0, []
    for day, movement, text, href, pence, why, paper in sorted(told, key=lambda each: (each[0], order[each[1]])):
        owed += pence
        lines.append(StoryLine(day, movement, text, href, pence, owed, why, paper))
    return lines


def facts_of_late_debt(row: InvoiceRow) -> tuple[Decimal, tuple[tuple[date, Decimal], ...]]:
    """What a claim for late payment rests on: the invoice less its credit notes, and payments by day, in pounds."""
    debt = convert_from_pence(row.gross_pence - row.credited_pence)
    return debt, tuple((share.payment.paid_on, convert_from_pence(share.pence)) for share in row.shares)


def facts_of_account_holder(session: Session, customer_id: int) -> CustomerFacts:
    """The customer as a letter addresses it; the first premises' address serves when there is no other."""
    places = list_premises(session, customer_id)
    return facts_of_customer(get_customer(session, customer_id), places[0] if places else None)
