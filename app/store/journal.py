"""The journal: the append-only record of who did what. Triggers refuse to change or remove a line."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.store.database import STRICT, Base


class JournalRow(Base):
    __tablename__ = "journal"
    __table_args__ = (Index("ix_journal_subject", "subject", "subject_id"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    person_name: Mapped[str]
    subject: Mapped[str]
    subject_id: Mapped[int]
    sentence: Mapped[str]


def add_journal_line(session: Session, line: JournalRow) -> None:
    session.add(line)


def list_journal(session: Session, subject: str = "", subject_id: int | None = None, limit: int = 200) -> list[JournalRow]:
    """Lines, newest first; of one subject where it is named."""
    query = select(JournalRow).order_by(JournalRow.id.desc()).limit(limit)
    if subject:
        query = query.where(JournalRow.subject == subject)
    if subject_id is not None:
        query = query.where(JournalRow.subject_id == subject_id)
    return list(session.scalars(query))
