"""Saved views: the filters of a list under a name, for one person or for the whole firm."""

from datetime import datetime

from sqlalchemy import ForeignKey, false, func, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.database import Base, Missing
from app.store.people import PersonRow


class SavedViewRow(Base):
    """path is the list, query what stands behind its question mark. shared: everybody of the firm sees it."""

    __tablename__ = "saved_views"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"), index=True)
    name: Mapped[str]
    path: Mapped[str] = mapped_column(index=True)
    query: Mapped[str]
    shared: Mapped[bool] = mapped_column(default=False, server_default=false())
    made_at: Mapped[datetime]
    person: Mapped[PersonRow] = relationship()


def get_saved_view(session: Session, saved_view_id: int) -> SavedViewRow:
    """Raises Missing."""
    row = session.get(SavedViewRow, saved_view_id)
    if row is None:
        raise Missing("saved view")
    return row


def list_saved_views(session: Session, person_id: int, path: str) -> list[SavedViewRow]:
    """A person's own views of a list and those that are shared, by name."""
    query = select(SavedViewRow).where(
        SavedViewRow.path == path, or_(SavedViewRow.person_id == person_id, SavedViewRow.shared.is_(True))
    )
    return list(session.scalars(query.order_by(func.lower(SavedViewRow.name), SavedViewRow.id)))
