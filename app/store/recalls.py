"""Recalls of products: imported lists, their notices, the items that may be among them, and letters about some."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, UniqueConstraint, func, or_, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.items import ItemState
from app.rules.recall_matches import Candidate
from app.rules.recalls import HitState, Notice
from app.store.customers import CustomerRow
from app.store.database import STRICT, Base, Missing
from app.store.items import ItemRow
from app.store.people import PersonRow
from app.store.uploaded_lists import UploadColumns


class RecallListRow(UploadColumns, Base):
    """A list of recalled products as it was brought in."""

    __tablename__ = "recall_lists"


class RecallNoticeRow(Base):
    """One recalled product. mark tells it from every other, so that no list brings it in twice."""

    __tablename__ = "recall_notices"

    id: Mapped[int] = mapped_column(primary_key=True)
    recall_list_id: Mapped[int] = mapped_column(ForeignKey("recall_lists.id"), index=True)
    make: Mapped[str]
    model: Mapped[str]
    batch: Mapped[str]
    serial: Mapped[str]
    product: Mapped[str]
    hazard: Mapped[str]
    advice: Mapped[str]
    reference: Mapped[str]
    mark: Mapped[str] = mapped_column(unique=True)
    recall_list: Mapped[RecallListRow] = relationship()

    @property
    def notice(self) -> Notice:
        return Notice(**{name: getattr(self, name) for name in Notice.__dataclass_fields__})


class RecallLetterRow(Base):
    """A letter to a customer, in the words in which it was written."""

    __tablename__ = "recall_letters"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    subject: Mapped[str]
    body: Mapped[str]
    made_at: Mapped[datetime]
    made_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    customer: Mapped[CustomerRow] = relationship()
    made_by: Mapped[PersonRow] = relationship()
    hits: Mapped[list["RecallHitRow"]] = relationship(order_by="RecallHitRow.id")


class RecallHitRow(Base):
    """An item that may be among a notice's products, and what a person said of it."""

    __tablename__ = "recall_hits"
    __table_args__ = (UniqueConstraint("recall_notice_id", "item_id"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    recall_notice_id: Mapped[int] = mapped_column(ForeignKey("recall_notices.id"))
    item_id: Mapped[int] = mapped_column(ForeignKey("items.id"), index=True)
    score: Mapped[int]
    reasons: Mapped[list[str]]
    state: Mapped[str] = mapped_column(index=True)
    found_at: Mapped[datetime]
    decided_at: Mapped[datetime | None]
    decided_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    decided_reason: Mapped[str] = mapped_column(default="")
    defect_id: Mapped[int | None] = mapped_column(ForeignKey("defects.id"))
    recall_letter_id: Mapped[int | None] = mapped_column(ForeignKey("recall_letters.id"), index=True)
    version: Mapped[int] = mapped_column(default=1)
    recall_notice: Mapped[RecallNoticeRow] = relationship()
    item: Mapped[ItemRow] = relationship()
    decided_by: Mapped[PersonRow | None] = relationship()
    letter: Mapped[RecallLetterRow | None] = relationship(back_populates="hits")

    __mapper_args__ = {"version_id_col": version}


def get_recall_list(session: Session, recall_list_id: int, locked: bool = False) -> RecallListRow:
    """Raises Missing. locked: nobody else takes it until the transaction ends."""
    row = session.get(RecallListRow, recall_list_id, with_for_update=locked or None)
    if row is None:
        raise Missing("recall list")
    return row


def get_recall_hit(session: Session, recall_hit_id: int) -> RecallHitRow:
    """Raises Missing."""
    row = session.get(RecallHitRow, recall_hit_id)
    if row is None:
        raise Missing("recalled item")
    return row


def get_recall_letter(session: Session, recall_letter_id: int) -> RecallLetterRow:
    """Raises Missing."""
    row = session.get(RecallLetterRow, recall_letter_id)
    if row is None:
        raise Missing("letter")
    return row


def list_recall_lists(session: Session) -> list[RecallListRow]:
    return list(session.scalars(select(RecallListRow).order_by(RecallListRow.id.desc()).limit(30)))


def find_columns_of_recalls(session: Session, mark: str) -> dict[str, Any] | None:
    """The columns by which a list of the same heads was last taken in."""
    query = select(RecallListRow.columns).where(RecallListRow.mark == mark, RecallListRow.state == "taken")
    return session.scalar(query.order_by(RecallListRow.id.desc()).limit(1))


def list_known_notices(session: Session, marks: Iterable[str]) -> set[str]:
    """Those marks that are there already."""
    wanted = list(marks)
    found: set[str] = set()
    for start in range(0, len(wanted), 500):
        part = wanted[start : start + 500]
        found |= set(session.scalars(select(RecallNoticeRow.mark).where(RecallNoticeRow.mark.in_(part))))
    return found


def list_recall_notices(session: Session, recall_list_id: int | None = None) -> list[tuple[int, Notice]]:
    """Every notice with its id; of one list where it is named."""
    columns = [getattr(RecallNoticeRow, name) for name in Notice.__dataclass_fields__]
    query = select(RecallNoticeRow.id, *columns).order_by(RecallNoticeRow.id)
    if recall_list_id is not None:
        query = query.where(RecallNoticeRow.recall_list_id == recall_list_id)
    return [(row[0], Notice(*row[1:])) for row in session.execute(query)]


def count_recall_notices(session: Session) -> int:
    return session.scalar(select(func.count()).select_from(RecallNoticeRow)) or 0


def list_recall_candidates(session: Session, item_id: int | None = None) -> list[tuple[int, Candidate]]:
    """Items that are not withdrawn and have anything to be found by, as matching sees them."""
    columns = (ItemRow.make, ItemRow.model, ItemRow.batch, ItemRow.serial, ItemRow.description)
    query = select(ItemRow.id, *columns).where(
        ItemRow.state != ItemState.WITHDRAWN.value,
        or_(ItemRow.make != "", ItemRow.model != "", ItemRow.serial != "", ItemRow.batch != ""),
    )
    if item_id is not None:
        query = query.where(ItemRow.id == item_id)
    return [(row[0], Candidate(*row[1:])) for row in session.execute(query)]


def list_recall_hits(
    session: Session,
    state: str = "",
    customer_id: int | None = None,
    item_id: int | None = None,
    without_letter: bool = False,
    limit: int = 500,
) -> list[RecallHitRow]:
    """Hits, the highest score first, with their notices and items. state is a word of HitState."""
    query = (
        select(RecallHitRow)
        .join(RecallHitRow.item)
        .options(
            joinedload(RecallHitRow.recall_notice),
            joinedload(RecallHitRow.item).joinedload(ItemRow.customer),
            joinedload(RecallHitRow.item).joinedload(ItemRow.premises),
            joinedload(RecallHitRow.item).joinedload(ItemRow.location),
        )
        .order_by(RecallHitRow.score.desc(), RecallHitRow.id)
        .limit(limit)
    )
    if state:
        query = query.where(RecallHitRow.state == state)
    if customer_id is not None:
        query = query.where(ItemRow.customer_id == customer_id)
    if item_id is not None:
        query = query.where(RecallHitRow.item_id == item_id)
    if without_letter:
        query = query.where(RecallHitRow.recall_letter_id.is_(None))
    return list(session.scalars(query))


def count_recall_hits(session: Session) -> dict[str, int]:
    """How many hits stand in each state."""
    query = select(RecallHitRow.state, func.count()).group_by(RecallHitRow.state)
    return {row[0]: row[1] for row in session.execute(query)}


def list_hit_pairs(session: Session, item_ids: Iterable[int] | None = None) -> dict[tuple[int, int], int]:
    """What was proposed already, in whatever state: (notice, item) with the id of the hit."""
    query = select(RecallHitRow.recall_notice_id, RecallHitRow.item_id, RecallHitRow.id)
    if item_ids is not None:
        query = query.where(RecallHitRow.item_id.in_(list(item_ids)))
    return {(notice_id, item_id): hit_id for notice_id, item_id, hit_id in session.execute(query)}


def remove_proposals(session: Session, hit_ids: Iterable[int]) -> None:
    """Take back proposals that nobody has decided about."""
    for hit_id in hit_ids:
        row = session.get(RecallHitRow, hit_id)
        if row is not None and row.state == HitState.PROPOSED:
            session.delete(row)


def list_recall_letters(session: Session, customer_id: int | None = None) -> list[RecallLetterRow]:
    """Letters, newest first."""
    query = select(RecallLetterRow).order_by(RecallLetterRow.id.desc()).limit(100)
    if customer_id is not None:
        query = query.where(RecallLetterRow.customer_id == customer_id)
    return list(session.scalars(query.options(joinedload(RecallLetterRow.customer))))
