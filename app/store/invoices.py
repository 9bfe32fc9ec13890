"""Invoices: drafts that can be edited, then numbered, frozen papers; and the payments that settle them."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, ForeignKey, Select, case, func, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship, selectinload

from app.rules.invoice_states import InvoiceState, judge_invoice
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.premises import PremisesRow
from app.store.visits import VisitRow

Anything = Select[*tuple[Any, ...]]


class InvoiceRow(Base):
    __tablename__ = "invoices"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str | None] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), index=True)
    state: Mapped[str] = mapped_column(default="draft")
    reference: Mapped[str] = mapped_column(default="")
    tax_point: Mapped[date]
    issued_on: Mapped[date | None]
    due_on: Mapped[date | None]
    issued_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    net_pence: Mapped[int] = mapped_column(default=0)
    vat_pence: Mapped[int] = mapped_column(default=0)
    gross_pence: Mapped[int] = mapped_column(default=0)
    data: Mapped[dict[str, Any] | None]
    file_name: Mapped[str] = mapped_column(default="")
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    visit: Mapped[VisitRow] = relationship()
    lines: Mapped[list["InvoiceLineRow"]] = relationship(
        order_by="InvoiceLineRow.position", cascade="all, delete-orphan"
    )
    payments: Mapped[list["PaymentRow"]] = relationship(order_by="PaymentRow.paid_on")

    __mapper_args__ = {"version_id_col": version}

    @property
    def paid_pence(self) -> int:
        return sum(payment.pence for payment in self.payments)

    @property
    def owed_pence(self) -> int:
        return self.gross_pence - self.paid_pence

    def state_on(self, today: date) -> InvoiceState:
        """Where the invoice stands on a day."""
        return judge_invoice(self.state, self.gross_pence, self.paid_pence, self.due_on, today)


class InvoiceLineRow(Base):
    """One line. price is in pounds without VAT; item_numbers say which items it stands for."""

    __tablename__ = "invoice_lines"

    id: Mapped[int] = mapped_column(primary_key=True)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    position: Mapped[int]
    description: Mapped[str]
    quantity: Mapped[Decimal]
    price: Mapped[Decimal]
    vat_category: Mapped[str]
    vat_rate: Mapped[Decimal | None]
    unit: Mapped[str] = mapped_column(default="")
    basis: Mapped[str] = mapped_column(default="extra")
    kind: Mapped[str] = mapped_column(default="")
    item_numbers: Mapped[list[str]] = mapped_column(default=list)


class PaymentRow(Base):
    __tablename__ = "payments"

    id: Mapped[int] = mapped_column(primary_key=True)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    paid_on: Mapped[date]
    pence: Mapped[int]
    reference: Mapped[str] = mapped_column(default="")
    recorded_at: Mapped[datetime]


def get_invoice(session: Session, invoice_id: int, locked: bool = False) -> InvoiceRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(InvoiceRow, invoice_id, with_for_update=locked or None)
    if row is None:
        raise Missing("invoice")
    return row


def get_payment(session: Session, payment_id: int) -> PaymentRow:
    """Raises Missing."""
    row = session.get(PaymentRow, payment_id)
    if row is None:
        raise Missing("payment")
    return row


def find_invoice_of_visit(session: Session, visit_id: int) -> InvoiceRow | None:
    return session.scalar(select(InvoiceRow).where(InvoiceRow.visit_id == visit_id))


def list_invoices(
    session: Session,
    customer_id: int | None = None,
    state: str = "",
    search: str = "",
    limit: int = 500,
    offset: int = 0,
    today: date | None = None,
) -> list[InvoiceRow]:
    """Invoices, drafts first, then the newest. state is a word of InvoiceState, or "owed"; "overdue" needs today."""
    query = _matching(select(InvoiceRow), customer_id, state, search, today).options(
        contains_eager(InvoiceRow.customer),
        contains_eager(InvoiceRow.visit).contains_eager(VisitRow.premises),
        selectinload(InvoiceRow.payments),
        defer(InvoiceRow.data),
    )
    query = query.order_by(InvoiceRow.number.is_not(None), InvoiceRow.issued_on.desc(), InvoiceRow.id.desc())
    return list(session.scalars(query.limit(limit).offset(offset)))


def count_invoices(
    session: Session, customer_id: int | None = None, state: str = "", search: str = "", today: date | None = None
) -> int:
    return session.scalar(_matching(select(func.count(InvoiceRow.id)), customer_id, state, search, today)) or 0


def count_owed_pence(session: Session, today: date, customer_id: int | None = None) -> tuple[int, int]:
    """What is still to be paid on issued invoices, and how much of that is overdue, in pence."""
    owed = InvoiceRow.gross_pence - _paid()
    overdue = case((InvoiceRow.due_on < today, owed), else_=0)
    query = _matching(select(func.sum(owed), func.sum(overdue)), customer_id, "owed", "", today)
    total, late = session.execute(query).one()
    return int(total or 0), int(late or 0)


def _paid() -> ColumnElement[int]:
    paid = select(func.coalesce(func.sum(PaymentRow.pence), 0)).where(PaymentRow.invoice_id == InvoiceRow.id)
    return paid.correlate(InvoiceRow).scalar_subquery()


def _matching(query: Anything, customer_id: int | None, state: str, search: str, today: date | None) -> Anything:
    query = query.join(InvoiceRow.customer).join(InvoiceRow.visit).join(VisitRow.premises)
    if customer_id is not None:
        query = query.where(InvoiceRow.customer_id == customer_id)
    for word in search.split():
        columns = (func.coalesce(InvoiceRow.number, ""), InvoiceRow.reference, CustomerRow.name, PremisesRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    if not state:
        return query
    if state == "draft":
        return query.where(InvoiceRow.state == "draft")
    query = query.where(InvoiceRow.state != "draft")
    if state == "paid":
        return query.where(_paid() >= InvoiceRow.gross_pence)
    if state in ("owed", "part paid", "overdue"):
        query = query.where(_paid() < InvoiceRow.gross_pence)
    if state == "part paid":
        query = query.where(_paid() > 0)
    if state == "overdue" and today is not None:
        query = query.where(InvoiceRow.due_on < today)
    return query


def list_pending_invoices(session: Session) -> list[InvoiceRow]:
    return list(session.scalars(select(InvoiceRow).where(InvoiceRow.state == "pending")))
