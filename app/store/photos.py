"""Photos of what was found, kept in the database beside what they show, so that every backup holds them."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import ForeignKey, func, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.database import Base, Missing
from app.store.people import PersonRow
from app.store.readings import VisitItemRow


class PhotoRow(Base):
    """A photo of an item at a visit: JPEG, upright, without any word of where and with what it was taken.

    One that an issued certificate shows is marked as removed and kept; any other removed photo is gone.
    """

    __tablename__ = "photos"

    id: Mapped[int] = mapped_column(primary_key=True)
    visit_item_id: Mapped[int] = mapped_column(ForeignKey("visit_items.id"), index=True)
    taken_at: Mapped[datetime]
    taken_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    caption: Mapped[str]
    width: Mapped[int]
    height: Mapped[int]
    sha256: Mapped[str]
    content: Mapped[bytes] = mapped_column(deferred=True)
    small: Mapped[bytes] = mapped_column(deferred=True)
    removed_at: Mapped[datetime | None]
    visit_item: Mapped[VisitItemRow] = relationship()
    taken_by: Mapped[PersonRow] = relationship()


def get_photo(session: Session, photo_id: int) -> PhotoRow:
    """Raises Missing."""
    row = session.get(PhotoRow, photo_id)
    if row is None:
        raise Missing("photo")
    return row


def list_photos(session: Session, visit_item_ids: Sequence[int]) -> dict[int, list[PhotoRow]]:
    """The photos of some items of visits, in the order in which they were taken, without their content."""
    found: dict[int, list[PhotoRow]] = {}
    query = select(PhotoRow).where(PhotoRow.visit_item_id.in_(visit_item_ids), PhotoRow.removed_at.is_(None))
    for row in session.scalars(query.order_by(PhotoRow.id)):
        found.setdefault(row.visit_item_id, []).append(row)
    return found


def list_photos_of_visit(session: Session, visit_id: int) -> dict[int, list[PhotoRow]]:
    """The photos of a visit by the id of the item's row on it."""
    return list_photos(session, list(session.scalars(select(VisitItemRow.id).where(VisitItemRow.visit_id == visit_id))))


def count_photos(session: Session, visit_item_id: int) -> int:
    query = select(func.count(PhotoRow.id))
    return session.scalar(query.where(PhotoRow.visit_item_id == visit_item_id, PhotoRow.removed_at.is_(None))) or 0


def list_small_pictures(session: Session, photo_ids: Sequence[int]) -> dict[int, bytes]:
    """The small picture of each of these photos, also of those removed since."""
    query = select(PhotoRow.id, PhotoRow.small).where(PhotoRow.id.in_(photo_ids))
    return {row.id: row.small for row in session.execute(query)}
