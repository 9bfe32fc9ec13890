"""Every paper of a customer, a premises or an item in one list: certificates of visits and all that stands beside them.

Papers about money are not among them; they have their own lists, which fewer people may see.
"""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Select, func, or_, select
from sqlalchemy.orm import Session, defer, joinedload, selectinload

from app.rules.certificates import Standing
from app.rules.papers import PaperKind
from app.store.certificates import CertificateRow
from app.store.customers import CustomerRow
from app.store.items import ItemRow
from app.store.papers import PaperRow
from app.store.premises import PremisesRow
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow

CERTIFICATE = "certificate"
#: Every kind that can be in the list.
KINDS = (CERTIFICATE, *(kind.value for kind in PaperKind))


@dataclass(frozen=True)
class IssuedPaper:
    """One paper. kind is "certificate" or the value of a PaperKind, id that of its own table. about: the item, the
    premises, or "All premises"; premises_id is None for those. items: how many it lists.
    """

    kind: str
    id: int
    number: str
    code: str
    customer_id: int
    customer: str
    premises_id: int | None
    about: str
    issued_on: date
    issued_at: datetime
    items: int
    standing: Standing
    file_name: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True)
class PaperFilter:
    """Which papers are wanted. A premises leaves out papers about all the customer's premises, since they tell of
    others too. search: words in number, code, customer, premises or item.
    """

    customer_id: int | None = None
    premises_id: int | None = None
    item_id: int | None = None
    kind: str = ""
    search: str = ""


def list_issued_papers(session: Session, wanted: PaperFilter, limit: int = 500, offset: int = 0) -> list[IssuedPaper]:
    """Papers that have a number, newest first; what is still being drawn and what no longer holds is among them."""
    found: list[IssuedPaper] = []
    if wanted.kind in ("", CERTIFICATE):
        certificates = _certificates(wanted).order_by(CertificateRow.issued_at.desc(), CertificateRow.id.desc())
        found += map(_of_certificate, session.scalars(certificates.limit(limit + offset)).unique())
    if wanted.kind != CERTIFICATE:
        papers = _papers(wanted).order_by(PaperRow.issued_at.desc(), PaperRow.id.desc())
        found += map(_of_paper, session.scalars(papers.limit(limit + offset)).unique())
    found.sort(key=lambda paper: (paper.issued_at, paper.id), reverse=True)
    return found[offset : offset + limit]


def count_issued_papers(session: Session, wanted: PaperFilter) -> int:
    """How many list_issued_papers would give without a limit."""
    queries: list[Select[int]] = []
    if wanted.kind in ("", CERTIFICATE):
        queries.append(_certificates(wanted).options().with_only_columns(func.count(CertificateRow.id)))
    if wanted.kind != CERTIFICATE:
        queries.append(_papers(wanted).with_only_columns(func.count(PaperRow.id)))
    return sum(session.scalar(query) or 0 for query in queries)


def _certificates(wanted: PaperFilter) -> Select[CertificateRow]:
    query = (
        select(CertificateRow)
        .join(CertificateRow.customer)
        .join(CertificateRow.visit)
        .join(VisitRow.premises)
        .options(
            joinedload(CertificateRow.customer),
            joinedload(CertificateRow.visit).joinedload(VisitRow.premises),
            selectinload(CertificateRow.corrected_by),
            selectinload(CertificateRow.void),
            defer(CertificateRow.data),
        )
    )
    if wanted.customer_id is not None:
        query = query.where(CertificateRow.customer_id == wanted.customer_id)
    if wanted.premises_id is not None:
        query = query.where(VisitRow.premises_id == wanted.premises_id)
    if wanted.item_id is not None:
        tested = select(VisitItemRow.visit_id).where(VisitItemRow.item_id == wanted.item_id)
        query = query.where(CertificateRow.visit_id.in_(tested))
    for word in wanted.search.split():
        columns = (CertificateRow.number, CertificateRow.code, CustomerRow.name, PremisesRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return query


def _papers(wanted: PaperFilter) -> Select[PaperRow]:
    query = (
        select(PaperRow)
        .join(PaperRow.customer)
        .outerjoin(PaperRow.premises)
        .outerjoin(PaperRow.item)
        .options(
            joinedload(PaperRow.customer),
            joinedload(PaperRow.premises),
            joinedload(PaperRow.item),
            selectinload(PaperRow.corrected_by),
            selectinload(PaperRow.void),
            defer(PaperRow.data),
        )
    )
    for column, value in (
        (PaperRow.customer_id, wanted.customer_id),
        (PaperRow.premises_id, wanted.premises_id),
        (PaperRow.item_id, wanted.item_id),
        (PaperRow.kind, wanted.kind or None),
    ):
        if value is not None:
            query = query.where(column == value)
    for word in wanted.search.split():
        columns = (
            PaperRow.number, PaperRow.code, CustomerRow.name, PremisesRow.name, ItemRow.number, ItemRow.description,
        )  # fmt: skip
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return query


def _of_certificate(row: CertificateRow) -> IssuedPaper:
    return IssuedPaper(
        CERTIFICATE, row.id, row.number, row.code, row.customer_id, row.customer.name, row.visit.premises_id,
        row.visit.premises.name, row.issued_on, row.issued_at, row.items, row.standing, row.file_name, row.sha256,
        row.size_bytes,
    )  # fmt: skip


def _of_paper(row: PaperRow) -> IssuedPaper:
    return IssuedPaper(
        row.kind, row.id, row.number, row.code, row.customer_id, row.customer.name, row.premises_id, row.subject,
        row.issued_on, row.issued_at, row.items, row.standing, row.file_name, row.sha256, row.size_bytes,
    )  # fmt: skip
