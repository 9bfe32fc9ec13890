"""Payments of customers and refunds to them, and how each is shared among invoices. A payment is never deleted: one
that was recorded by mistake is marked with the reason, and gives its shares back.
"""

from datetime import date, datetime

from sqlalchemy import ForeignKey, case, func, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship, selectinload

from app.rules.payments import Direction
from app.store.customers import CustomerRow
from app.store.database import Base, Missing


class PaymentRow(Base):
    __tablename__ = "payments"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    direction: Mapped[str]
    paid_on: Mapped[date]
    pence: Mapped[int]
    method: Mapped[str]
    reference: Mapped[str]
    bank_line_id: Mapped[int | None] = mapped_column(ForeignKey("bank_lines.id"), index=True)
    recorded_at: Mapped[datetime]
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    removed_at: Mapped[datetime | None]
    removed_reason: Mapped[str] = mapped_column(default="")
    customer: Mapped[CustomerRow] = relationship()
    shares: Mapped[list["PaymentShareRow"]] = relationship(
        order_by="PaymentShareRow.id", back_populates="payment", cascade="all, delete-orphan"
    )

    @property
    def shared_pence(self) -> int:
        return sum(share.pence for share in self.shares)

    @property
    def held_pence(self) -> int:
        """What no invoice takes of it; a refund takes from what is held."""
        if self.removed_at is not None or self.direction == Direction.REFUNDED:
            return 0
        return self.pence - self.shared_pence


class PaymentShareRow(Base):
    """So much of a payment for one invoice."""

    __tablename__ = "payment_shares"

    id: Mapped[int] = mapped_column(primary_key=True)
    payment_id: Mapped[int] = mapped_column(ForeignKey("payments.id"), index=True)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    pence: Mapped[int]
    payment: Mapped[PaymentRow] = relationship(back_populates="shares")


def get_payment(session: Session, payment_id: int) -> PaymentRow:
    """Raises Missing."""
    row = session.get(PaymentRow, payment_id)
    if row is None:
        raise Missing("payment")
    return row


def list_payments(session: Session, customer_id: int, removed: bool = True) -> list[PaymentRow]:
    """Payments and refunds of a customer, newest first."""
    query = select(PaymentRow).where(PaymentRow.customer_id == customer_id).options(selectinload(PaymentRow.shares))
    if not removed:
        query = query.where(PaymentRow.removed_at.is_(None))
    return list(session.scalars(query.order_by(PaymentRow.paid_on.desc(), PaymentRow.id.desc())))


def count_held_pence(session: Session, customer_id: int) -> int:
    """What is held for a customer: everything that came, less refunds and what invoices take."""
    signed = case((PaymentRow.direction == Direction.RECEIVED.value, PaymentRow.pence), else_=-PaymentRow.pence)
    live = (PaymentRow.customer_id == customer_id, PaymentRow.removed_at.is_(None))
    came = session.scalar(select(func.coalesce(func.sum(signed), 0)).where(*live))
    shared = session.scalar(
        select(func.coalesce(func.sum(PaymentShareRow.pence), 0)).join(PaymentShareRow.payment).where(*live)
    )
    return int(came or 0) - int(shared or 0)
