"""Credit notes: numbered, frozen papers that name the invoice they correct, and what each took of its lines."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import ForeignKey, Select, func, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.database import Base, Missing

Anything = Select[*tuple[Any, ...]]


class CreditNoteRow(Base):
    __tablename__ = "credit_notes"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    state: Mapped[str]
    reason: Mapped[str]
    agreed_on: Mapped[date]
    issued_on: Mapped[date] = mapped_column(index=True)
    issued_at: Mapped[datetime]
    issued_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    net_pence: Mapped[int]
    vat_pence: Mapped[int]
    gross_pence: Mapped[int]
    data: Mapped[dict[str, Any]]
    file_name: Mapped[str]
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)
    customer: Mapped[CustomerRow] = relationship()
    lines: Mapped[list["CreditNoteLineRow"]] = relationship(order_by="CreditNoteLineRow.id", cascade="all")


class CreditNoteLineRow(Base):
    """What a credit note takes of one part of its invoice, with its sign. place: see CreditablePart."""

    __tablename__ = "credit_note_lines"

    id: Mapped[int] = mapped_column(primary_key=True)
    credit_note_id: Mapped[int] = mapped_column(ForeignKey("credit_notes.id"), index=True)
    place: Mapped[int]
    quantity: Mapped[Decimal]
    net_pence: Mapped[int]


def get_credit_note(session: Session, credit_note_id: int, locked: bool = False) -> CreditNoteRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(CreditNoteRow, credit_note_id, with_for_update=locked or None)
    if row is None:
        raise Missing("credit note")
    return row


def list_credit_notes(
    session: Session, search: str = "", limit: int = 500, offset: int = 0, customer_id: int | None = None
) -> list[CreditNoteRow]:
    """Credit notes, newest first."""
    query = _matching(select(CreditNoteRow), search, customer_id)
    query = query.options(contains_eager(CreditNoteRow.customer), defer(CreditNoteRow.data))
    query = query.order_by(CreditNoteRow.issued_on.desc(), CreditNoteRow.id.desc())
    return list(session.scalars(query.limit(limit).offset(offset)))


def count_credit_notes(session: Session, search: str = "", customer_id: int | None = None) -> int:
    return session.scalar(_matching(select(func.count(CreditNoteRow.id)), search, customer_id)) or 0


def list_credit_lines_of(session: Session, invoice_id: int) -> list[CreditNoteLineRow]:
    """What all credit notes of an invoice took of it, pending ones among them."""
    query = (
        select(CreditNoteLineRow)
        .join(CreditNoteRow, CreditNoteRow.id == CreditNoteLineRow.credit_note_id)
        .where(CreditNoteRow.invoice_id == invoice_id)
        .order_by(CreditNoteLineRow.id)
    )
    return list(session.scalars(query))


def list_pending_credit_notes(session: Session) -> list[CreditNoteRow]:
    return list(session.scalars(select(CreditNoteRow).where(CreditNoteRow.state == "pending")))


def _matching(query: Anything, search: str, customer_id: int | None) -> Anything:
    query = query.join(CreditNoteRow.customer)
    if customer_id is not None:
        query = query.where(CreditNoteRow.customer_id == customer_id)
    for word in search.split():
        columns = (CreditNoteRow.number, CreditNoteRow.reason, CustomerRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return query
