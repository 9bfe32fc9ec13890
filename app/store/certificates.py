"""Certificates: numbered, frozen papers. The data, the file and its SHA-256 are kept from issue on."""

from typing import Any

from sqlalchemy import ForeignKey, Select, UniqueConstraint, func, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship, selectinload

from app.rules.certificates import Standing, judge_standing
from app.store.customers import CustomerRow
from app.store.database import STRICT, Base, Missing
from app.store.frozen_papers import FrozenColumns, RevisionColumns, VoidColumns, find_newest_in_chain
from app.store.paging import Page, Place, list_page
from app.store.premises import PremisesRow
from app.store.visits import VisitRow


class CertificateRow(FrozenColumns, Base):
    __tablename__ = "certificates"

    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), index=True)
    passed: Mapped[int]
    failed: Mapped[int]
    visit: Mapped[VisitRow] = relationship()
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


class RevisionRow(RevisionColumns, Base):
    """A correction: a new certificate, the one it replaces, and the first of the chain."""

    __tablename__ = "certificate_revisions"
    __table_args__ = (UniqueConstraint("first_id", "revision"), STRICT)

    certificate_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"), unique=True)
    replaces_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"), unique=True)
    first_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"))
    certificate: Mapped[CertificateRow] = relationship(foreign_keys=certificate_id, back_populates="revision")
    replaces: Mapped[CertificateRow] = relationship(foreign_keys=replaces_id, back_populates="corrected_by")


class CertificateVoidRow(VoidColumns, Base):
    __tablename__ = "certificate_voids"

    certificate_id: Mapped[int] = mapped_column(ForeignKey("certificates.id"), primary_key=True)
    certificate: Mapped[CertificateRow] = relationship(back_populates="void")


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
    return find_newest_in_chain(session, row, first_id, RevisionRow.certificate_id)


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
