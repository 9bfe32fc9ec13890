"""Invoices: drafts that can be edited, then numbered, frozen papers; and the payments that settle them."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import ForeignKey, func, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.visits import VisitRow


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
    lines: Mapped[list["InvoiceLineRow"]] = relationship(order_by="InvoiceLineRow.position", cascade="all, delete-orphan")
    payments: Mapped[list["PaymentRow"]] = relationship(order_by="PaymentRow.paid_on")

    __mapper_args__ = {"version_id_col": version}

    @property
    def paid_pence(self) -> int:
        return sum(payment.pence for payment in self.payments)

    @property
    def owed_pence(self) -> int:
        return self.gross_pence - self.paid_pence


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


def get_invoice(session: Session, invoice_id: int) -> InvoiceRow:
    """Raises Missing."""
    row = session.get(InvoiceRow, invoice_id)
    if row is None:
        raise Missing("invoice")
    return row


def find_invoice_of_visit(session: Session, visit_id: int) -> InvoiceRow | None:
    return session.scalar(select(InvoiceRow).where(InvoiceRow.visit_id == visit_id))


def list_invoices(session: Session, customer_id: int | None = None, state: str = "", search: str = "", limit: int = 500) -> list[InvoiceRow]:
    """Invoices, newest first, drafts before all."""
    query = select(InvoiceRow).join(InvoiceRow.customer).limit(limit)
    query = query.order_by(InvoiceRow.number.is_not(None), InvoiceRow.issued_on.desc(), InvoiceRow.id.desc())
    if customer_id is not None:
        query = query.where(InvoiceRow.customer_id == customer_id)
    if state in ("draft", "issued"):
        query = query.where(InvoiceRow.state == state)
    for word in search.split():
        query = query.where(func.coalesce(InvoiceRow.number, "").icontains(word, autoescape=True)
                            | CustomerRow.name.icontains(word, autoescape=True))  # fmt: skip
    return list(session.scalars(query))


def list_pending_invoices(session: Session) -> list[InvoiceRow]:
    return list(session.scalars(select(InvoiceRow).where(InvoiceRow.state == "pending")))
