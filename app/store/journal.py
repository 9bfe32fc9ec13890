"""The journal: the append-only record of who did what. Triggers refuse to change or remove a line."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, Select, func, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.store.database import STRICT, Base
from app.store.paging import Page, Place, list_page


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


def list_journal(
    session: Session,
    subject: str = "",
    subject_id: int | None = None,
    search: str = "",
    skip: int = 0,
    limit: int = 200,
) -> list[JournalRow]:
    """Lines, newest first; of one subject where it is named."""
    query = _asked_for(select(JournalRow), subject, subject_id, search)
    return list(session.scalars(query.order_by(JournalRow.id.desc()).offset(skip).limit(limit)))


def list_journal_page(
    session: Session, place: Place, size: int, subject: str = "", subject_id: int | None = None, search: str = ""
) -> Page:
    """One page of the journal, newest first."""
    query = _asked_for(select(JournalRow), subject, subject_id, search)
    return list_page(session, query, ((JournalRow.id, True),), JournalRow.id, place, size)


def count_journal(session: Session, subject: str = "", subject_id: int | None = None, search: str = "") -> int:
    """How many lines list_journal would give without a limit."""
    return session.scalar(_asked_for(select(func.count()).select_from(JournalRow), subject, subject_id, search)) or 0


def list_journal_subjects(session: Session) -> list[str]:
    """The kinds of subject that lines are about."""
    return list(session.scalars(select(JournalRow.subject).distinct().order_by(JournalRow.subject)))


def _asked_for(query: Select[Any], subject: str, subject_id: int | None, search: str) -> Select[Any]:
    if subject:
        query = query.where(JournalRow.subject == subject)
    if subject_id is not None:
        query = query.where(JournalRow.subject_id == subject_id)
    for word in search.split():
        query = query.where(
            or_(*(column.icontains(word, autoescape=True) for column in (JournalRow.sentence, JournalRow.person_name)))
        )
    return query
