"""Share links: one customer's papers behind a secret address, of which only the SHA-256 is kept."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, func, or_, select, text, true
from sqlalchemy.orm import Mapped, Session, aliased, contains_eager, joinedload, mapped_column, relationship

from app.rules.share_links import FolderKind, LinkScope, LinkState, judge_link
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.visits import VisitRow


class ShareLinkRow(Base):
    """paper_kind is a word of FolderKind, paper_id the id in the table of that kind; both empty but for one paper."""

    __tablename__ = "share_links"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visits.id"), index=True)
    premises_id: Mapped[int | None] = mapped_column(ForeignKey("premises.id"), index=True)
    paper_kind: Mapped[str] = mapped_column(default="", server_default=text("''"))
    paper_id: Mapped[int | None]
    paper_number: Mapped[str] = mapped_column(default="", server_default=text("''"))
    with_money: Mapped[bool] = mapped_column(default=True, server_default=true())
    made_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime]
    expires_on: Mapped[date | None]
    withdrawn_at: Mapped[datetime | None]
    openings: Mapped[int] = mapped_column(default=0)
    opened_at: Mapped[datetime | None]
    note: Mapped[str] = mapped_column(default="")
    customer: Mapped[CustomerRow] = relationship()
    visit: Mapped[VisitRow | None] = relationship()
    premises: Mapped[PremisesRow | None] = relationship()
    made_by: Mapped[PersonRow] = relationship()

    @property
    def scope(self) -> LinkScope:
        """What the link may open."""
        paper = (FolderKind(self.paper_kind), self.paper_id) if self.paper_id is not None else None
        return LinkScope(self.customer_id, self.premises_id, self.visit_id, paper, self.with_money)

    def state_on(self, today: date) -> LinkState:
        """Where the link stands on a day."""
        return judge_link(self.expires_on, self.withdrawn_at, today)


def get_share_link(session: Session, share_link_id: int, locked: bool = False) -> ShareLinkRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(ShareLinkRow, share_link_id, with_for_update=locked or None)
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
    premises_id: int | None = None,
    paper: tuple[FolderKind, int] | None = None,
) -> list[ShareLinkRow]:
    """Share links, newest first. state is a word of LinkState; "open" and "expired" need today.

    With visit_id or premises_id those links that open just that; with customer_id every link of the customer.
    """
    place = aliased(PremisesRow)
    query = (
        select(ShareLinkRow)
        .join(ShareLinkRow.customer)
        .outerjoin(ShareLinkRow.visit)
        .outerjoin(VisitRow.premises)
        .outerjoin(place, ShareLinkRow.premises_id == place.id)
        .options(
            contains_eager(ShareLinkRow.customer),
            contains_eager(ShareLinkRow.visit).contains_eager(VisitRow.premises),
            contains_eager(ShareLinkRow.premises.of_type(place)),
            joinedload(ShareLinkRow.made_by),
        )
        .order_by(ShareLinkRow.id.desc())
    )
    if visit_id is not None:
        query = query.where(ShareLinkRow.visit_id == visit_id)
    if customer_id is not None:
        query = query.where(ShareLinkRow.customer_id == customer_id)
    if premises_id is not None:
        query = query.where(ShareLinkRow.premises_id == premises_id)
    if paper is not None:
        query = query.where(ShareLinkRow.paper_kind == paper[0].value, ShareLinkRow.paper_id == paper[1])
    if state:
        withdrawn = ShareLinkRow.withdrawn_at.is_not(None)
        query = query.where(withdrawn if state == "withdrawn" else ~withdrawn)
    if state in ("open", "expired") and today is not None:
        endless = ShareLinkRow.expires_on.is_(None)
        still = or_(endless, ShareLinkRow.expires_on >= today)
        query = query.where(still if state == "open" else ShareLinkRow.expires_on < today)
    for word in search.split():
        columns = (
            ShareLinkRow.note, CustomerRow.name, func.coalesce(PremisesRow.name, ""), func.coalesce(place.name, ""),
            ShareLinkRow.paper_number,
        )  # fmt: skip
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return list(session.scalars(query))
