"""Questions across nouns: what is on today, what is overdue, what waits for somebody."""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session, joinedload

from app.rules.items import ItemState
from app.rules.visits import VisitState
from app.store.certificates import CertificateRow
from app.store.customers import CustomerRow
from app.store.invoices import SETTLED, InvoiceRow, InvoiceVisitRow, count_owed
from app.store.items import DefectRow, ItemRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow

_PLACES = (joinedload(VisitRow.customer), joinedload(VisitRow.premises))


@dataclass(frozen=True)
class DuePremises:
    """What falls due at one premises."""

    premises_id: int
    premises: str
    customer_id: int
    customer: str
    overdue: int
    soon: int
    first_due_on: date


def list_due_premises(session: Session, today: date, within_days: int = 30, limit: int = 100) -> list[DuePremises]:
    """Premises with items overdue or due within some days, the most overdue first, without those already booked."""
    overdue = func.sum(case((ItemRow.next_due_on < today, 1), else_=0))
    booked = select(VisitRow.premises_id).where(
        VisitRow.state.in_((VisitState.BOOKED.value, VisitState.UNDER_WAY.value))
    )
    query = (
        select(
            PremisesRow.id,
            PremisesRow.name,
            CustomerRow.id,
            CustomerRow.name,
            overdue,
            func.count(),
            func.min(ItemRow.next_due_on),
        )
        .join(PremisesRow, ItemRow.premises_id == PremisesRow.id)
        .join(CustomerRow, PremisesRow.customer_id == CustomerRow.id)
        .where(ItemRow.state == ItemState.IN_USE.value, ItemRow.next_due_on <= today + timedelta(days=within_days))
        .where(PremisesRow.id.not_in(booked))
        .group_by(PremisesRow.id, PremisesRow.name, CustomerRow.id, CustomerRow.name)
        .order_by(func.min(ItemRow.next_due_on))
        .limit(limit)
    )
    return [
        DuePremises(premises_id, premises, customer_id, customer, late or 0, number - (late or 0), first_due_on)
        for premises_id, premises, customer_id, customer, late, number, first_due_on in session.execute(query)
    ]


def list_uncertified_visits(session: Session) -> list[VisitRow]:
    """Finished visits whose certificate has not been issued."""
    certified = select(CertificateRow.visit_id)
    query = select(VisitRow).where(VisitRow.state == VisitState.FINISHED.value, VisitRow.id.not_in(certified))
    return list(session.scalars(query.options(*_PLACES).order_by(VisitRow.booked_on)))


def list_uninvoiced_visits(session: Session, customer_id: int | None = None, drafted: bool = True) -> list[VisitRow]:
    """Finished visits without an issued invoice; drafted False leaves out those that stand on a draft."""
    invoiced = select(InvoiceVisitRow.visit_id)
    if drafted:
        invoiced = invoiced.join(InvoiceRow).where(InvoiceRow.state != "draft")
    query = select(VisitRow).where(VisitRow.state == VisitState.FINISHED.value, VisitRow.id.not_in(invoiced))
    if customer_id is not None:
        query = query.where(VisitRow.customer_id == customer_id)
    return list(session.scalars(query.options(*_PLACES).order_by(VisitRow.booked_on)))


def list_overdue_invoices(session: Session, today: date) -> list[InvoiceRow]:
    """Issued invoices whose day has passed and that are not paid in full, the longest overdue first."""
    query = (
        select(InvoiceRow)
        .where(InvoiceRow.state == "issued", InvoiceRow.due_on < today, count_owed() > 0)
        .options(joinedload(InvoiceRow.customer), *SETTLED)
        .order_by(InvoiceRow.due_on, InvoiceRow.id)
    )
    return list(session.scalars(query))


def list_open_visits(session: Session, until: date, limit: int = 200) -> list[VisitRow]:
    """Visits booked or under way up to a day, the earliest first; what was left open on earlier days is among them."""
    query = (
        select(VisitRow)
        .where(VisitRow.state.in_((VisitState.BOOKED.value, VisitState.UNDER_WAY.value)), VisitRow.booked_on <= until)
        .options(joinedload(VisitRow.customer), joinedload(VisitRow.premises), joinedload(VisitRow.technician))
        .order_by(VisitRow.booked_on, VisitRow.booked_time, VisitRow.id)
        .limit(limit)
    )
    return list(session.scalars(query))


def count_defects(session: Session) -> int:
    """How many open defects there are at all premises together."""
    query = select(func.count()).select_from(DefectRow).join(DefectRow.item)
    return session.scalar(query.where(DefectRow.closed_on.is_(None), ItemRow.state != ItemState.WITHDRAWN.value)) or 0
