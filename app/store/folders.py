"""Every issued paper of a customer, of one of its premises, or of one visit, of whatever kind, in one list.

A new kind of paper joins by one more function in KINDS; whoever shows, zips or sends papers has nothing to change.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Select, exists, select
from sqlalchemy.orm import Session, aliased, defer, joinedload, selectinload

from app.rules.certificates import Standing
from app.rules.share_links import FolderKind, LinkScope
from app.store.certificates import CertificateRow
from app.store.claims import ClaimRow
from app.store.credit_notes import CreditNoteRow
from app.store.invoices import SETTLED, InvoiceRow, InvoiceVisitRow
from app.store.paper_parts import PaperPartRow
from app.store.papers import PaperRow
from app.store.quotes import QuoteRow
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow


@dataclass(frozen=True)
class FolderPaper:
    """One paper. place: its premises, or empty where it is about several. gone: why it no longer holds, or empty.

    whom: for the file's name. pence: the amount of a paper about money; owed_pence, due_on and settled ("paid",
    "credited") of an invoice; due_on of a quote is the day until which it holds. parts: file name and SHA-256 of each
    file after the first.
    """

    kind: FolderKind
    id: int
    number: str
    whom: str
    place: str
    visit_id: int | None
    issued_on: date
    file_name: str
    sha256: str
    size_bytes: int
    gone: str = ""
    pence: int | None = None
    owed_pence: int | None = None
    due_on: date | None = None
    settled: str = ""
    structured: bool = False
    parts: tuple[tuple[str, str], ...] = ()

    @property
    def key(self) -> tuple[FolderKind, int]:
        return self.kind, self.id

    @property
    def title(self) -> str:
        return f"{self.kind.value.capitalize()} {self.number}"


def list_folder(session: Session, scope: LinkScope) -> list[FolderPaper]:
    """The papers that a scope opens: what is issued, whether it still holds or not; the newest first.

    Papers about money only where the scope has them, and one about several premises not in the folder of one of them.
    """
    kinds = [kind for kind in FolderKind if scope.with_money or not kind.is_money]
    if scope.paper is not None:
        kinds = [kind for kind in kinds if kind == scope.paper[0]]
    found = [paper for kind in kinds for paper in KINDS[kind](session, scope)]
    if scope.paper is not None:
        found = [paper for paper in found if paper.key == scope.paper]
    return sorted(found, key=lambda paper: (paper.issued_on, paper.id), reverse=True)


def find_in_folder(session: Session, scope: LinkScope, kind: FolderKind, paper_id: int) -> FolderPaper | None:
    """One paper of a scope, or nothing where it is not there or not in it."""
    return next((paper for paper in list_folder(session, scope) if paper.key == (kind, paper_id)), None)


def _parts_of(session: Session, paper: str, ids: Sequence[int]) -> dict[int, tuple[tuple[str, str], ...]]:
    """The parts of long papers of a kind, in one question."""
    query = select(PaperPartRow.paper_id, PaperPartRow.file_name, PaperPartRow.sha256)
    query = query.where(PaperPartRow.paper == paper, PaperPartRow.paper_id.in_(ids))
    found: dict[int, tuple[tuple[str, str], ...]] = {}
    for paper_id, name, sha256 in session.execute(query.order_by(PaperPartRow.place)):
        found[paper_id] = (*found.get(paper_id, ()), (name, sha256))
    return found


def _certificates(session: Session, scope: LinkScope) -> list[FolderPaper]:
    query = (
        select(CertificateRow)
        .join(CertificateRow.visit)
        .where(CertificateRow.customer_id == scope.customer_id, CertificateRow.state == "issued")
        .options(
            joinedload(CertificateRow.visit).joinedload(VisitRow.premises),
            selectinload(CertificateRow.corrected_by),
            selectinload(CertificateRow.void),
            defer(CertificateRow.data),
        )
    )
    if scope.premises_id is not None:
        query = query.where(VisitRow.premises_id == scope.premises_id)
    if scope.visit_id is not None:
        query = query.where(VisitRow.id == scope.visit_id)
    rows = list(session.scalars(query).unique())
    parts = _parts_of(session, "certificate", [row.id for row in rows])
    return [
        FolderPaper(
            FolderKind.CERTIFICATE, row.id, row.number, row.visit.premises.name, row.visit.premises.name, row.visit_id,
            row.issued_on, row.file_name, row.sha256, row.size_bytes, gone=_why_gone(row), parts=parts.get(row.id, ()),
        )
        for row in rows
    ]  # fmt: skip


def _of_kind(kind: FolderKind) -> Callable[[Session, LinkScope], list[FolderPaper]]:
    """The question for one of the kinds of papers that stand beside the certificates."""

    def papers(session: Session, scope: LinkScope) -> list[FolderPaper]:
        query = (
            select(PaperRow)
            .where(PaperRow.customer_id == scope.customer_id, PaperRow.kind == kind.value, PaperRow.state == "issued")
            .options(
                joinedload(PaperRow.premises),
                joinedload(PaperRow.item),
                joinedload(PaperRow.customer),
                selectinload(PaperRow.corrected_by),
                selectinload(PaperRow.void),
                defer(PaperRow.data),
            )
        )
        if scope.premises_id is not None:
            query = query.where(PaperRow.premises_id == scope.premises_id)
        if scope.visit_id is not None:
            query = query.join(PaperRow.visit_item).where(VisitItemRow.visit_id == scope.visit_id)
        rows = list(session.scalars(query).unique())
        parts = _parts_of(session, "paper", [row.id for row in rows])
        return [
            FolderPaper(
                kind, row.id, row.number, row.subject if row.item or row.premises else row.customer.name, row.subject,
                None, row.issued_on, row.file_name, row.sha256, row.size_bytes, gone=_why_gone(row),
                parts=parts.get(row.id, ()),
            )
            for row in rows
        ]  # fmt: skip

    return papers


def _why_gone(row: CertificateRow | PaperRow) -> str:
    if row.void is not None:
        return "void"
    if row.standing == Standing.REPLACED and row.replaced_by is not None:
        return f"replaced by {row.replaced_by.number}"
    return ""


def _invoice_ids(scope: LinkScope) -> Select[int]:
    """The issued invoices of a scope: in the folder of one premises only those that charge for nothing elsewhere."""
    query = select(InvoiceRow.id).where(InvoiceRow.customer_id == scope.customer_id, InvoiceRow.state == "issued")
    visits, other = aliased(InvoiceVisitRow), aliased(VisitRow)
    if scope.premises_id is not None:
        elsewhere = (
            select(visits.visit_id)
            .join(other, other.id == visits.visit_id)
            .where(visits.invoice_id == InvoiceRow.id, other.premises_id != scope.premises_id)
        )
        first = select(VisitRow.premises_id).where(VisitRow.id == InvoiceRow.visit_id).scalar_subquery()
        query = query.where(first == scope.premises_id, ~exists(elsewhere))
    if scope.visit_id is not None:
        query = query.where(exists().where(visits.invoice_id == InvoiceRow.id, visits.visit_id == scope.visit_id))
    return query


def _invoices(session: Session, scope: LinkScope) -> list[FolderPaper]:
    query = select(InvoiceRow).where(InvoiceRow.id.in_(_invoice_ids(scope)))
    query = query.options(joinedload(InvoiceRow.visit).joinedload(VisitRow.premises), joinedload(InvoiceRow.customer))
    query = query.options(selectinload(InvoiceRow.visits).joinedload(InvoiceVisitRow.visit), *SETTLED)
    found = []
    for row in session.scalars(query).unique():
        one = len({each.visit.premises_id for each in row.visits}) == 1
        found.append(
            FolderPaper(
                FolderKind.INVOICE, row.id, row.number or "", row.customer.name,
                row.visit.premises.name if one else "", row.visit_id, row.issued_on or row.tax_point, row.file_name,
                row.sha256, row.size_bytes, pence=row.gross_pence, owed_pence=row.owed_pence, due_on=row.due_on,
                settled=_settled(row), structured=bool((row.data or {}).get("terms_en16931")),
            )
        )  # fmt: skip
    return found


def _settled(row: InvoiceRow) -> str:
    if row.owed_pence > 0:
        return ""
    return "credited" if row.credited_pence > 0 and row.owed_pence + row.paid_pence <= 0 else "paid"


def _credit_notes(session: Session, scope: LinkScope) -> list[FolderPaper]:
    query = select(CreditNoteRow).where(
        CreditNoteRow.state == "issued",
        CreditNoteRow.invoice_id.in_(_invoice_ids(scope)),
    )
    query = query.options(joinedload(CreditNoteRow.customer), defer(CreditNoteRow.data))
    return [
        FolderPaper(
            FolderKind.CREDIT_NOTE, row.id, row.number, row.customer.name, "", None, row.issued_on, row.file_name,
            row.sha256, row.size_bytes, pence=row.gross_pence,
        )
        for row in session.scalars(query)
    ]  # fmt: skip


def _claims(session: Session, scope: LinkScope) -> list[FolderPaper]:
    query = select(ClaimRow).where(
        ClaimRow.state == "issued",
        ClaimRow.invoice_id.in_(_invoice_ids(scope)),
    )
    query = query.options(joinedload(ClaimRow.customer), defer(ClaimRow.data))
    return [
        FolderPaper(
            FolderKind.CLAIM, row.id, row.number, row.customer.name, "", None, row.issued_on, row.file_name,
            row.sha256, row.size_bytes, gone="withdrawn" if row.withdrawn_on else "", pence=row.total_pence,
        )
        for row in session.scalars(query)
    ]  # fmt: skip


def _quotes(session: Session, scope: LinkScope) -> list[FolderPaper]:
    query = select(QuoteRow).where(QuoteRow.customer_id == scope.customer_id, QuoteRow.state == "issued")
    query = query.options(joinedload(QuoteRow.customer), joinedload(QuoteRow.premises), defer(QuoteRow.data))
    if scope.premises_id is not None:
        query = query.where(QuoteRow.premises_id == scope.premises_id)
    if scope.visit_id is not None:
        query = query.where(QuoteRow.visit_id == scope.visit_id)
    return [
        FolderPaper(
            FolderKind.QUOTE, row.id, row.number or "", row.customer.name, row.premises.name, row.visit_id,
            row.issued_on or row.made_at.date(), row.file_name, row.sha256, row.size_bytes, pence=row.gross_pence,
            due_on=row.valid_until,
        )
        for row in session.scalars(query)
    ]  # fmt: skip


#: For each kind the question that gives its papers within a scope.
KINDS: dict[FolderKind, Callable[[Session, LinkScope], list[FolderPaper]]] = {
    FolderKind.CERTIFICATE: _certificates,
    **{
        kind: _of_kind(kind)
        for kind in (FolderKind.REGISTER, FolderKind.DEFECT_LIST, FolderKind.ITEM_CERTIFICATE, FolderKind.ITEM_HISTORY)
    },
    FolderKind.QUOTE: _quotes,
    FolderKind.INVOICE: _invoices,
    FolderKind.CREDIT_NOTE: _credit_notes,
    FolderKind.CLAIM: _claims,
}
