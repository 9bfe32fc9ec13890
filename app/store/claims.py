"""Claims for late payment: numbered, frozen papers. One that is withdrawn stays in its series, with the reason."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.database import Base, Missing


class ClaimRow(Base):
    __tablename__ = "claims"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    state: Mapped[str]
    issued_on: Mapped[date]
    until: Mapped[date]
    issued_at: Mapped[datetime]
    issued_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    interest_pence: Mapped[int]
    fixed_pence: Mapped[int]
    data: Mapped[dict[str, Any]]
    file_name: Mapped[str]
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)
    withdrawn_on: Mapped[date | None]
    withdrawn_reason: Mapped[str] = mapped_column(default="")
    customer: Mapped[CustomerRow] = relationship()

    @property
    def total_pence(self) -> int:
        return self.interest_pence + self.fixed_pence


def get_claim(session: Session, claim_id: int, locked: bool = False) -> ClaimRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(ClaimRow, claim_id, with_for_update=locked or None)
    if row is None:
        raise Missing("claim")
    return row


def list_pending_claims(session: Session) -> list[ClaimRow]:
    return list(session.scalars(select(ClaimRow).where(ClaimRow.state == "pending")))
