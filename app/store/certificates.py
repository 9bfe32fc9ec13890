"""Certificates: numbered, frozen papers. The data, the file and its SHA-256 are kept from issue on."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.people import PersonRow
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


def get_certificate(session: Session, certificate_id: int) -> CertificateRow:
    """Raises Missing."""
    row = session.get(CertificateRow, certificate_id)
    if row is None:
        raise Missing("certificate")
    return row


def find_certificate_by_code(session: Session, code: str) -> CertificateRow | None:
    return session.scalar(select(CertificateRow).where(CertificateRow.code == code))


def find_certificate_of_visit(session: Session, visit_id: int) -> CertificateRow | None:
    return session.scalar(select(CertificateRow).where(CertificateRow.visit_id == visit_id))


def list_certificates(session: Session, customer_id: int | None = None, search: str = "", limit: int = 500) -> list[CertificateRow]:
    """Certificates, newest first."""
    query = select(CertificateRow).join(CertificateRow.customer).order_by(CertificateRow.id.desc()).limit(limit)
    if customer_id is not None:
        query = query.where(CertificateRow.customer_id == customer_id)
    for word in search.split():
        query = query.where(CertificateRow.number.icontains(word, autoescape=True) | CustomerRow.name.icontains(word, autoescape=True))
    return list(session.scalars(query))


def list_pending_certificates(session: Session) -> list[CertificateRow]:
    return list(session.scalars(select(CertificateRow).where(CertificateRow.state == "pending")))
