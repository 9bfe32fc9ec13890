"""Share links: one customer's papers behind a secret address, of which only the SHA-256 is kept."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, or_, select
from sqlalchemy.orm import Mapped, Session, contains_eager, joinedload, mapped_column, relationship

from app.rules.share_links import LinkState, judge_link
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow


class ShareLinkRow(Base):
    __tablename__ = "share_links"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visits.id"), index=True)
    made_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime]
    expires_on: Mapped[date]
    withdrawn_at: Mapped[datetime | None]
    openings: Mapped[int] = mapped_column(default=0)
    opened_at: Mapped[datetime | None]
    note: Mapped[str] = mapped_column(default="")
    customer: Mapped[CustomerRow] = relationship()
    visit: Mapped[VisitRow] = relationship()
    made_by: Mapped[PersonRow] = relationship()

    def state_on(self, today: date) -> LinkState:
        """Where the link stands on a day."""
        return judge_link(self.expires_on, self.withdrawn_at, today)


def get_share_link(session: Session, share_link_id: int) -> ShareLinkRow:
    """Raises Missing."""
    row = session.get(ShareLinkRow, share_link_id)
    if row is None:
        raise Missing("share link")
    return row


def find_share_link(session: Session, token_hash: str) -> ShareLinkRow | None:
    return session.scalar(select(ShareLinkRow).where(ShareLinkRow.token_hash == token_hash))


def list_share_links(
    session: Session,
    visit_id: int | None = None,
    customer_id: int | None = None,
    state: str = "",
    search: str = "",
    today: date | None = None,
) -> list[ShareLinkRow]:
    """Share links, newest first. state is a word of LinkState; "open" and "expired" need today."""
    query = (
        select(ShareLinkRow)
        .join(ShareLinkRow.customer)
        .join(ShareLinkRow.visit)
        .join(VisitRow.premises)
        .options(
            contains_eager(ShareLinkRow.customer),
            contains_eager(ShareLinkRow.visit).contains_eager(VisitRow.premises),
            joinedload(ShareLinkRow.made_by),
        )
        .order_by(ShareLinkRow.id.desc())
    )
    if visit_id is not None:
        query = query.where(ShareLinkRow.visit_id == visit_id)
    if customer_id is not None:
        query = query.where(ShareLinkRow.customer_id == customer_id)
    if state:
        withdrawn = ShareLinkRow.withdrawn_at.is_not(None)
        query = query.where(withdrawn if state == "withdrawn" else ~withdrawn)
    if state in ("open", "expired") and today is not None:
        query = query.where(ShareLinkRow.expires_on >= today if state == "open" else ShareLinkRow.expires_on < today)
    for word in search.split():
        columns = (ShareLinkRow.note, CustomerRow.name, PremisesRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return list(session.scalars(query))
