"""What certificates and the papers beside them have alike: number, data, file and SHA-256, kept from issue on (triggers
refuse to change them), the chain of corrections, and being void.
"""

from datetime import date, datetime
from typing import Any, TypeVar

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import InstrumentedAttribute, Mapped, Session, declared_attr, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.people import PersonRow

Frozen = TypeVar("Frozen", bound="FrozenColumns")


class FrozenColumns:
    """The columns of a paper that is numbered and frozen at issue. state: pending until its file is there, then issued;
    items counts what it tells of; data is all that its template draws.
    """

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(unique=True)
    code: Mapped[str] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    state: Mapped[str]
    issued_on: Mapped[date]
    issued_at: Mapped[datetime]
    issued_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    items: Mapped[int]
    data: Mapped[dict[str, Any]]
    file_name: Mapped[str]
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)

    @declared_attr
    def customer(cls) -> Mapped[CustomerRow]:
        return relationship(CustomerRow)

    @declared_attr
    def issued_by(cls) -> Mapped[PersonRow]:
        return relationship(PersonRow)


class RevisionColumns:
    """A correction: revision counts from 2 for the first one, reason is printed (ISO/IEC 17025:2017, 7.8.8)."""

    id: Mapped[int] = mapped_column(primary_key=True)
    revision: Mapped[int]
    reason: Mapped[str]


class VoidColumns:
    """That a paper no longer holds, and why. It keeps its number and its file."""

    reason: Mapped[str]
    voided_at: Mapped[datetime]
    voided_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))

    @declared_attr
    def voided_by(cls) -> Mapped[PersonRow]:
        return relationship(PersonRow)


def find_newest_in_chain(session: Session, row: Frozen, first_id: int, new_id: InstrumentedAttribute[int]) -> Frozen:
    """The newest issued paper of a chain of corrections; row where it was never corrected.

    first_id: of the first paper of the chain; new_id: the column of the corrections that names the new paper.
    """
    table, corrections = type(row), new_id.class_
    query = (
        select(table)
        .join(corrections, new_id == table.id)
        .where(corrections.first_id == first_id, table.state == "issued")
        .order_by(corrections.revision.desc())
        .limit(1)
    )
    return session.scalar(query) or row
