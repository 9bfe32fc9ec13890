"""Quotes: drafts that are worked out anew at each look, then numbered, frozen papers with their answer."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Select, func, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, defer, mapped_column, relationship

from app.rules.quotes import QuoteState, judge_quote
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.premises import PremisesRow
from app.store.visits import VisitRow

Anything = Select[*tuple[Any, ...]]


class QuoteRow(Base):
    """counts: how many items of each kind are reckoned with; empty where they come from the register, and then only
    what falls due up to due_until where there is such a day.

    agreement: the prices as they were when the quote was issued; a visit booked from it is invoiced by them.
    """

    __tablename__ = "quotes"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str | None] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    premises_id: Mapped[int] = mapped_column(ForeignKey("premises.id"), index=True)
    state: Mapped[str] = mapped_column(default="draft")
    counts: Mapped[dict[str, Any]] = mapped_column(default=dict)
    due_until: Mapped[date | None]
    note: Mapped[str] = mapped_column(default="")
    valid_days: Mapped[int] = mapped_column(default=30)
    made_at: Mapped[datetime]
    issued_on: Mapped[date | None]
    valid_until: Mapped[date | None]
    issued_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    answer: Mapped[str] = mapped_column(default="")
    answered_on: Mapped[date | None]
    answered_by: Mapped[str] = mapped_column(default="")
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visits.id"), unique=True)
    agreement: Mapped[dict[str, Any] | None]
    net_pence: Mapped[int] = mapped_column(default=0)
    vat_pence: Mapped[int] = mapped_column(default=0)
    gross_pence: Mapped[int] = mapped_column(default=0)
    data: Mapped[dict[str, Any] | None]
    file_name: Mapped[str] = mapped_column(default="")
    sha256: Mapped[str] = mapped_column(default="")
    size_bytes: Mapped[int] = mapped_column(default=0)
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    premises: Mapped[PremisesRow] = relationship()
    visit: Mapped[VisitRow | None] = relationship()

    __mapper_args__ = {"version_id_col": version}

    def state_on(self, today: date) -> QuoteState:
        """Where the quote stands on a day."""
        return judge_quote(self.state, self.answer, self.valid_until, self.visit_id is not None, today)


def get_quote(session: Session, quote_id: int, locked: bool = False) -> QuoteRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(QuoteRow, quote_id, with_for_update=locked or None)
    if row is None:
        raise Missing("quote")
    return row


def find_quote_of_visit(session: Session, visit_id: int) -> QuoteRow | None:
    """The quote from which a visit was booked."""
    return session.scalar(select(QuoteRow).where(QuoteRow.visit_id == visit_id))


def list_quotes(
    session: Session,
    customer_id: int | None = None,
    premises_id: int | None = None,
    search: str = "",
    limit: int = 500,
    offset: int = 0,
) -> list[QuoteRow]:
    """Quotes, drafts first, then the newest."""
    query = _matching(select(QuoteRow), customer_id, premises_id, search).options(
        contains_eager(QuoteRow.customer), contains_eager(QuoteRow.premises), defer(QuoteRow.data)
    )
    query = query.order_by(QuoteRow.number.is_not(None), QuoteRow.issued_on.desc(), QuoteRow.id.desc())
    return list(session.scalars(query.limit(limit).offset(offset)))


def count_quotes(
    session: Session, customer_id: int | None = None, premises_id: int | None = None, search: str = ""
) -> int:
    return session.scalar(_matching(select(func.count(QuoteRow.id)), customer_id, premises_id, search)) or 0


def list_pending_quotes(session: Session) -> list[QuoteRow]:
    return list(session.scalars(select(QuoteRow).where(QuoteRow.state == "pending")))


def _matching(query: Anything, customer_id: int | None, premises_id: int | None, search: str) -> Anything:
    query = query.join(QuoteRow.customer).join(QuoteRow.premises)
    if customer_id is not None:
        query = query.where(QuoteRow.customer_id == customer_id)
    if premises_id is not None:
        query = query.where(QuoteRow.premises_id == premises_id)
    for word in search.split():
        columns = (func.coalesce(QuoteRow.number, ""), CustomerRow.name, PremisesRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return query
