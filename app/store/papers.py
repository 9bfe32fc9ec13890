"""Papers beside the certificates of visits: registers, lists of defects, certificates and histories of single items.

As with certificates, number, data, file and SHA-256 are kept from issue on; triggers refuse to change them.
"""

from datetime import date

from sqlalchemy import ForeignKey, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.certificates import Standing, judge_standing
from app.rules.papers import PaperKind
from app.store.database import STRICT, Base, Missing
from app.store.frozen_papers import FrozenColumns, RevisionColumns, VoidColumns, find_newest_in_chain
from app.store.items import ItemRow
from app.store.premises import PremisesRow
from app.store.readings import VisitItemRow


class PaperRow(FrozenColumns, Base):
    """One paper. premises_id is empty for all the premises of a customer; item_id is set for papers on one item, and
    visit_item_id for the certificate of one test.
    """

    __tablename__ = "papers"

    kind: Mapped[str]
    premises_id: Mapped[int | None] = mapped_column(ForeignKey("premises.id"), index=True)
    item_id: Mapped[int | None] = mapped_column(ForeignKey("items.id"), index=True)
    visit_item_id: Mapped[int | None] = mapped_column(ForeignKey("visit_items.id"))
    purpose: Mapped[str]
    as_at: Mapped[date]
    premises: Mapped[PremisesRow | None] = relationship()
    item: Mapped[ItemRow | None] = relationship()
    visit_item: Mapped[VisitItemRow | None] = relationship()
    #: For a correction: which paper it replaces, and why.
    revision: Mapped["PaperRevisionRow | None"] = relationship(
        foreign_keys="PaperRevisionRow.paper_id", back_populates="paper"
    )
    #: The correction that was made of this paper, if there is one.
    corrected_by: Mapped["PaperRevisionRow | None"] = relationship(
        foreign_keys="PaperRevisionRow.replaces_id", back_populates="replaces"
    )
    void: Mapped["PaperVoidRow | None"] = relationship(back_populates="paper")

    @property
    def replaced_by(self) -> "PaperRow | None":
        """The issued correction that stands in place of this paper."""
        row = self.corrected_by.paper if self.corrected_by else None
        return row if row is not None and row.state == "issued" else None

    @property
    def standing(self) -> Standing:
        """Whether the paper still holds."""
        return judge_standing(self.state, self.void is not None, self.replaced_by is not None)

    @property
    def subject(self) -> str:
        """What the paper is about, in words: the item, the premises, or all premises of the customer."""
        if self.item is not None:
            return f"{self.item.number} {self.item.description}"
        return self.premises.name if self.premises is not None else "All premises"


class PaperRevisionRow(RevisionColumns, Base):
    """A correction: the new paper, the one it replaces, and the first of the chain."""

    __tablename__ = "paper_revisions"
    __table_args__ = (UniqueConstraint("first_id", "revision"), STRICT)

    paper_id: Mapped[int] = mapped_column(ForeignKey("papers.id"), unique=True)
    replaces_id: Mapped[int] = mapped_column(ForeignKey("papers.id"), unique=True)
    first_id: Mapped[int] = mapped_column(ForeignKey("papers.id"))
    paper: Mapped[PaperRow] = relationship(foreign_keys=paper_id, back_populates="revision")
    replaces: Mapped[PaperRow] = relationship(foreign_keys=replaces_id, back_populates="corrected_by")


class PaperVoidRow(VoidColumns, Base):
    __tablename__ = "paper_voids"

    paper_id: Mapped[int] = mapped_column(ForeignKey("papers.id"), primary_key=True)
    paper: Mapped[PaperRow] = relationship(back_populates="void")


def get_paper(session: Session, paper_id: int, locked: bool = False) -> PaperRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(PaperRow, paper_id, with_for_update=locked or None)
    if row is None:
        raise Missing("paper")
    return row


def find_paper_by_code(session: Session, code: str) -> PaperRow | None:
    return session.scalar(select(PaperRow).where(PaperRow.code == code))


def find_newest_paper(session: Session, row: PaperRow) -> PaperRow:
    """The newest issued paper of the chain that a paper belongs to; itself when it was never corrected."""
    first_id = row.revision.first_id if row.revision else row.id
    return find_newest_in_chain(session, row, first_id, PaperRevisionRow.paper_id)


def list_papers_alike(
    session: Session,
    kind: PaperKind,
    customer_id: int,
    issued_on: date,
    *,
    premises_id: int | None = None,
    item_id: int | None = None,
) -> list[PaperRow]:
    """The papers of a kind about the same thing that were numbered on a day and still hold, newest first."""
    query = select(PaperRow).where(
        PaperRow.kind == kind.value,
        PaperRow.customer_id == customer_id,
        PaperRow.issued_on == issued_on,
        PaperRow.premises_id == premises_id if premises_id is not None else PaperRow.premises_id.is_(None),
        PaperRow.item_id == item_id if item_id is not None else PaperRow.item_id.is_(None),
    )
    rows = session.scalars(query.order_by(PaperRow.id.desc()))
    return [row for row in rows if row.standing in (Standing.ISSUED, Standing.WAITING)]


def list_pending_papers(session: Session) -> list[PaperRow]:
    return list(session.scalars(select(PaperRow).where(PaperRow.state == "pending")))
