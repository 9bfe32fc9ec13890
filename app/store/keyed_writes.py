"""Writes that carried a key of their own, each with what was answered, so that a repeat gets the first answer."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, delete, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.store.database import Base


class KeyedWriteRow(Base):
    """One write: whose it was, the SHA-256 of what was sent, and the answer. answer is empty while it is being done."""

    __tablename__ = "keyed_writes"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(unique=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    body_hash: Mapped[str]
    answer: Mapped[dict[str, Any]] = mapped_column(default=dict)
    at: Mapped[datetime] = mapped_column(index=True)


def find_keyed_write(session: Session, key: str) -> KeyedWriteRow | None:
    return session.scalar(select(KeyedWriteRow).where(KeyedWriteRow.key == key))


def remove_keyed_writes_before(session: Session, moment: datetime) -> None:
    """Forget the writes that were answered before a moment."""
    session.execute(delete(KeyedWriteRow).where(KeyedWriteRow.at < moment))
