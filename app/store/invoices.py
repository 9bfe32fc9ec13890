"""Invoices: drafts that can be edited, then numbered, frozen papers; and what was settled on them since."""

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, ForeignKey, Select, SQLColumnExpression, case, func, literal, or_, select, text
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship, selectinload

from app.rules.invoice_states import InvoiceState, judge_invoice
from app.rules.payments import OpenInvoice
from app.store.claims import ClaimRow
from app.store.credit_notes import CreditNoteRow
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.paging import Page, Place, list_page
from app.store.payments import PaymentShareRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow

Anything = Select[*tuple[Any, ...]]


class InvoiceRow(Base):
    __tablename__ = "invoices"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str | None] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), index=True)
    state: Mapped[str] = mapped_column(default="draft")
    reference: Mapped[str] = mapped_column(default="")
    tax_point: Mapped[date]
    issued_on: Mapped[date | None]
    due_on: Mapped[date | None]
    issued_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    net_pence: Mapped[int] = mapped_column(default=0)
    vat_pence: Mapped[int] = mapped_column(default=0)
    gross_pence: Mapped[int] = mapped_column(default=0)
    data: Mapped[dict[str, Any] | None]
    file_name: Mapped[str] = mapped_column(default="")
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)
    discount: Mapped[str] = mapped_column(default="", server_default=text("''"))
    discount_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    visit: Mapped[VisitRow] = relationship()  # the first of its visits
    visits: Mapped[list["InvoiceVisitRow"]] = relationship(
        order_by="InvoiceVisitRow.visit_id", cascade="all, delete-orphan"
    )
    lines: Mapped[list["InvoiceLineRow"]] = relationship(
        order_by="InvoiceLineRow.position", cascade="all, delete-orphan"
    )
    shares: Mapped[list[PaymentShareRow]] = relationship(order_by=PaymentShareRow.id)
    credit_notes: Mapped[list[CreditNoteRow]] = relationship(order_by=CreditNoteRow.id)
    claims: Mapped[list[ClaimRow]] = relationship(order_by=ClaimRow.id)

    __mapper_args__ = {"version_id_col": version}

    @property
    def paid_pence(self) -> int:
        return sum(share.pence for share in self.shares)

    @property
    def credited_pence(self) -> int:
        return sum(note.gross_pence for note in self.credit_notes)

    @property
    def claimed_pence(self) -> int:
        """Interest and fixed sums for late payment that were claimed and not withdrawn."""
        return sum(claim.total_pence for claim in self.claims if claim.withdrawn_on is None)

    @property
    def owed_pence(self) -> int:
        return self.gross_pence + self.claimed_pence - self.credited_pence - self.paid_pence

    def state_on(self, today: date) -> InvoiceState:
        """Where the invoice stands on a day."""
        return judge_invoice(
            self.state, self.gross_pence + self.claimed_pence, self.paid_pence, self.due_on, today, self.credited_pence
        )


class InvoiceVisitRow(Base):
    """A visit that an invoice charges for. A visit stands on one invoice only."""

    __tablename__ = "invoice_visits"

    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), primary_key=True, autoincrement=False)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    visit: Mapped[VisitRow] = relationship()


class InvoiceLineRow(Base):
    """One line. price is in pounds without VAT; item_numbers and visit_id say which items it stands for.

    treatment: a word of VatTreatment, from which category and rate follow at the tax point. discount: as typed.
    """

    __tablename__ = "invoice_lines"

    id: Mapped[int] = mapped_column(primary_key=True)
    invoice_id: Mapped[int] = mapped_column(ForeignKey("invoices.id"), index=True)
    position: Mapped[int]
    description: Mapped[str]
    quantity: Mapped[Decimal]
    price: Mapped[Decimal]
    vat_category: Mapped[str]
    vat_rate: Mapped[Decimal | None]
    unit: Mapped[str] = mapped_column(default="")
    basis: Mapped[str] = mapped_column(default="extra")
    kind: Mapped[str] = mapped_column(default="")
    item_numbers: Mapped[list[str]] = mapped_column(default=list)
    visit_id: Mapped[int | None]  # a visit; SQLite cannot add a foreign key to a table that is there
    treatment: Mapped[str] = mapped_column(default="standard", server_default=text("'standard'"))
    discount: Mapped[str] = mapped_column(default="", server_default=text("''"))


#: Everything that changes what is to be paid, for questions about many invoices.
SETTLED = tuple(selectinload(each) for each in (InvoiceRow.shares, InvoiceRow.credit_notes, InvoiceRow.claims))


def get_invoice(session: Session, invoice_id: int, locked: bool = False) -> InvoiceRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(InvoiceRow, invoice_id, with_for_update=locked or None)
    if row is None:
        raise Missing("invoice")
    return row


def facts_of_open_invoice(row: InvoiceRow) -> OpenInvoice:
    """An invoice as matching payments sees it."""
    due_on = row.due_on or row.tax_point
    return OpenInvoice(
        row.id, row.number or "", row.customer_id, row.customer.name, row.owed_pence, due_on, row.reference
    )


def list_open_invoices(session: Session, customer_id: int | None = None) -> list[OpenInvoice]:
    """Issued invoices with something to pay on them, the one due first before the others."""
    rows = list_invoices(session, customer_id, "owed", limit=10_000)
    found = [facts_of_open_invoice(row) for row in rows if row.state == "issued"]
    return sorted(found, key=lambda each: (each.due_on, each.number))


def find_invoice_of_visit(session: Session, visit_id: int) -> InvoiceRow | None:
    """The invoice, or draft, that charges for a visit."""
    query = select(InvoiceRow).join(InvoiceRow.visits).where(InvoiceVisitRow.visit_id == visit_id)
    return session.scalar(query)


def list_invoices(
    session: Session,
    customer_id: int | None = None,
    state: str = "",
    search: str = "",
    limit: int = 500,
    offset: int = 0,
    today: date | None = None,
) -> list[InvoiceRow]:
    """Invoices, drafts first, then the newest. state is a word of InvoiceState, or "owed"; "overdue" needs today."""
    query = _matching(select(InvoiceRow), customer_id, state, search, today).options(
        contains_eager(InvoiceRow.customer),
        contains_eager(InvoiceRow.visit).contains_eager(VisitRow.premises),
        *SETTLED,
        defer(InvoiceRow.data),
    )
    query = query.order_by(InvoiceRow.number.is_not(None), InvoiceRow.issued_on.desc(), InvoiceRow.id.desc())
    return list(session.scalars(query.limit(limit).offset(offset)))


def list_invoice_page(
    session: Session, place: Place, size: int, state: str = "", search: str = "", today: date | None = None
) -> Page:
    """One page of the invoices, drafts first, then the newest."""
    query = _matching(select(InvoiceRow), None, state, search, today).options(
        contains_eager(InvoiceRow.customer),
        contains_eager(InvoiceRow.visit).contains_eager(VisitRow.premises),
        *SETTLED,
        defer(InvoiceRow.data),
    )
    drafts_first = func.coalesce(InvoiceRow.issued_on, literal(date(9999, 12, 31)))
    return list_page(session, query, ((drafts_first, True), (InvoiceRow.id, True)), InvoiceRow.id, place, size)


def count_invoices(
    session: Session, customer_id: int | None = None, state: str = "", search: str = "", today: date | None = None
) -> int:
    return session.scalar(_matching(select(func.count(InvoiceRow.id)), customer_id, state, search, today)) or 0


def count_owed_pence(session: Session, today: date, customer_id: int | None = None) -> tuple[int, int]:
    """What is still to be paid on issued invoices, and how much of that is overdue, in pence."""
    overdue = case((InvoiceRow.due_on < today, count_owed()), else_=0)
    query = _matching(select(func.sum(count_owed()), func.sum(overdue)), customer_id, "owed", "", today)
    total, late = session.execute(query).one()
    return int(total or 0), int(late or 0)


def count_owed() -> ColumnElement[int]:
    """What is to be paid on an invoice, as SQL: the same as InvoiceRow.owed_pence."""
    claimed = _sum(ClaimRow.interest_pence + ClaimRow.fixed_pence, ClaimRow.invoice_id, ClaimRow.withdrawn_on.is_(None))
    credited = _sum(CreditNoteRow.gross_pence, CreditNoteRow.invoice_id)
    return InvoiceRow.gross_pence + claimed - credited - _paid()


def _paid() -> ColumnElement[int]:
    return _sum(PaymentShareRow.pence, PaymentShareRow.invoice_id)


def _sum(
    pence: SQLColumnExpression[int], invoice_id: SQLColumnExpression[int], *where: ColumnElement[bool]
) -> ColumnElement[int]:
    total = select(func.coalesce(func.sum(pence), 0)).where(invoice_id == InvoiceRow.id, *where)
    return total.correlate(InvoiceRow).scalar_subquery()


def _matching(query: Anything, customer_id: int | None, state: str, search: str, today: date | None) -> Anything:
    query = query.join(InvoiceRow.customer).join(InvoiceRow.visit).join(VisitRow.premises)
    if customer_id is not None:
        query = query.where(InvoiceRow.customer_id == customer_id)
    for word in search.split():
        columns = (func.coalesce(InvoiceRow.number, ""), InvoiceRow.reference, CustomerRow.name, PremisesRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    if not state:
        return query
    if state == "draft":
        return query.where(InvoiceRow.state == "draft")
    query = query.where(InvoiceRow.state != "draft")
    credited = _sum(CreditNoteRow.gross_pence, CreditNoteRow.invoice_id)
    if state == "credited":
        return query.where(credited > 0, count_owed() + _paid() <= 0)
    if state == "paid":
        return query.where(count_owed() <= 0, or_(credited == 0, count_owed() + _paid() > 0))
    if state in ("owed", "part paid", "overdue"):
        query = query.where(count_owed() > 0)
    if state == "part paid":
        query = query.where(_paid() > 0)
    if state == "overdue" and today is not None:
        query = query.where(InvoiceRow.due_on < today)
    return query


def list_pending_invoices(session: Session) -> list[InvoiceRow]:
    return list(session.scalars(select(InvoiceRow).where(InvoiceRow.state == "pending")))
