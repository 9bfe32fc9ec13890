"""Certificates: numbered, frozen papers. The data, the file and its SHA-256 are kept from issue on."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Select, UniqueConstraint, func, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship, selectinload

from app.rules.certificates import Standing, judge_standing
from app.store.customers import CustomerRow
from app.store.database import STRICT, Base, Missing
from app.store.paging import Page, Place, list_page
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
    #: For a correction: which certificate it replaces, and why.
    revision: Mapped["RevisionRow | None"] = relationship(
        foreign_keys="RevisionRow.certificate_id", back_populates="certificate"
    )
    #: The correction that was made of this certificate, if there is one.
    corrected_by: Mapped["RevisionRow | None"] = relationship(
        foreign_keys="RevisionRow.replaces_id", back_populates="replaces"
    )
    void: Mapped["CertificateVoidRow | None"] = relationship(back_populates="certificate")

    @property
    def replaced_by(self) -> "CertificateRow | None":
        """The issued correction that stands in place of this certificate."""
        row = self.corrected_by.certificate if self.corrected_by else None
        return row if row is not None and row.state == "issued" else None

    @property
    def standing(self) -> Standing:
        """Whether the certificate still holds."""
        return judge_standing(self.state, self.void is not None, self.replaced_by is not None)


class RevisionRow(Base):
    """A correction: a new certificate, the one it replaces, and the first of the chain (ISO/IEC 17025:2017, 7.8.8)."""

    __tablename__ = "certificate_revisions"
    __table_args__ = (UniqueConstraint("first_id", "revision"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    certificate_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"), unique=True)
    replaces_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"), unique=True)
    first_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"))
    revision: Mapped[int]
    reason: Mapped[str]
    certificate: Mapped[CertificateRow] = relationship(foreign_keys=certificate_id, back_populates="revision")
    replaces: Mapped[CertificateRow] = relationship(foreign_keys=replaces_id, back_populates="corrected_by")


class CertificateVoidRow(Base):
    """That a certificate no longer holds, and why. It keeps its number and its file."""

    __tablename__ = "certificate_voids"

    certificate_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"), primary_key=True)
    reason: Mapped[str]
    voided_at: Mapped[datetime]
    voided_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    certificate: Mapped[CertificateRow] = relationship(back_populates="void")
    voided_by: Mapped[PersonRow] = relationship()


def get_certificate(session: Session, certificate_id: int, locked: bool = False) -> CertificateRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(CertificateRow, certificate_id, with_for_update=locked or None)
    if row is None:
        raise Missing("certificate")
    return row


def find_certificate_by_code(session: Session, code: str) -> CertificateRow | None:
    return session.scalar(select(CertificateRow).where(CertificateRow.code == code))


def find_certificate_of_visit(session: Session, visit_id: int) -> CertificateRow | None:
    """The certificate that holds for a visit, or is being made: the newest correction, and none that is void."""
    rows = list_certificates_of_visit(session, visit_id)
    return next((row for row in rows if row.void is None), None)


def list_certificates_of_visit(session: Session, visit_id: int) -> list[CertificateRow]:
    """Every certificate of a visit, newest first: the one that holds, those it replaced, and void ones."""
    query = select(CertificateRow).where(CertificateRow.visit_id == visit_id).order_by(CertificateRow.id.desc())
    return list(session.scalars(query))


def find_newest_revision(session: Session, row: CertificateRow) -> CertificateRow:
    """The newest issued certificate of the chain that a certificate belongs to; itself when it was never corrected."""
    first_id = row.revision.first_id if row.revision else row.id
    query = (
        select(CertificateRow)
        .join(RevisionRow, RevisionRow.certificate_id == CertificateRow.id)
        .where(RevisionRow.first_id == first_id, CertificateRow.state == "issued")
        .order_by(RevisionRow.revision.desc())
        .limit(1)
    )
    return session.scalar(query) or row


_SHOWN = (
    contains_eager(CertificateRow.customer),
    contains_eager(CertificateRow.visit).contains_eager(VisitRow.premises),
    selectinload(CertificateRow.corrected_by),
    selectinload(CertificateRow.void),
    defer(CertificateRow.data),
)


def list_certificates(
    session: Session, customer_id: int | None = None, search: str = "", limit: int = 500, offset: int = 0
) -> list[CertificateRow]:
    """Certificates, newest first."""
    query = _matching(select(CertificateRow), customer_id, search).options(*_SHOWN)
    return list(session.scalars(query.order_by(CertificateRow.id.desc()).limit(limit).offset(offset)))


def list_certificate_page(session: Session, place: Place, size: int, search: str = "") -> Page:
    """One page of the certificates, newest first."""
    query = _matching(select(CertificateRow), None, search).options(*_SHOWN)
    return list_page(session, query, ((CertificateRow.id, True),), CertificateRow.id, place, size)


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
