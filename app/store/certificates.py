"""Certificates: numbered, frozen papers. The data, the file and its SHA-256 are kept from issue on."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Select, func, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow


class CertificateRow(Base):
    __tablename__ = "certificates"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(unique=True)
    code: Mapped[str] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), index=True)
    state: Mapped[str]
    issued_on: Mapped[date]
    issued_at: Mapped[datetime]
    issued_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    items: Mapped[int]
    passed: Mapped[int]
    failed: Mapped[int]
    data: Mapped[dict[str, Any]]
    file_name: Mapped[str]
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)
    customer: Mapped[CustomerRow] = relationship()
    visit: Mapped[VisitRow] = relationship()
    issued_by: Mapped[PersonRow] = relationship()


def get_certificate(session: Session, certificate_id: int, locked: bool = False) -> CertificateRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(CertificateRow, certificate_id, with_for_update=locked or None)
    if row is None:
        raise Missing("certificate")
    return row


def find_certificate_by_code(session: Session, code: str) -> CertificateRow | None:
    return session.scalar(select(CertificateRow).where(CertificateRow.code == code))


def find_certificate_of_visit(session: Session, visit_id: int) -> CertificateRow | None:
    return session.scalar(select(CertificateRow).where(CertificateRow.visit_id == visit_id))


def list_certificates(
    session: Session, customer_id: int | None = None, search: str = "", limit: int = 500, offset: int = 0
) -> list[CertificateRow]:
    """Certificates, newest first."""
    query = _matching(select(CertificateRow), customer_id, search).options(
        contains_eager(CertificateRow.customer),
        contains_eager(CertificateRow.visit).contains_eager(VisitRow.premises),
        defer(CertificateRow.data),
    )
    return list(session.scalars(query.order_by(CertificateRow.id.desc()).limit(limit).offset(offset)))


def count_certificates(session: Session, customer_id: int | None = None, search: str = "") -> int:
    return session.scalar(_matching(select(func.count(CertificateRow.id)), customer_id, search)) or 0


def _matching(query: Select[*tuple[Any, ...]], customer_id: int | None, search: str) -> Select[*tuple[Any, ...]]:
    query = query.join(CertificateRow.customer).join(CertificateRow.visit).join(VisitRow.premises)
    if customer_id is not None:
        query = query.where(CertificateRow.customer_id == customer_id)
    for word in search.split():
        columns = (CertificateRow.number, CertificateRow.code, CustomerRow.name, PremisesRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return query


def list_pending_certificates(session: Session) -> list[CertificateRow]:
    return list(session.scalars(select(CertificateRow).where(CertificateRow.state == "pending")))
