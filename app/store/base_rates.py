"""The Bank of England's base rate by date, as the firm entered it."""

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.store.database import Base, Missing


class BaseRateRow(Base):
    __tablename__ = "base_rates"

    id: Mapped[int] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(unique=True)
    percent: Mapped[Decimal]
    source: Mapped[str]
    entered_at: Mapped[datetime]
    entered_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))


def get_base_rate(session: Session, base_rate_id: int) -> BaseRateRow:
    """Raises Missing."""
    row = session.get(BaseRateRow, base_rate_id)
    if row is None:
        raise Missing("base rate")
    return row


def find_base_rate(session: Session, day: date) -> BaseRateRow | None:
    """The rate in force on a day; nothing before the first one entered."""
    query = select(BaseRateRow).where(BaseRateRow.valid_from <= day).order_by(BaseRateRow.valid_from.desc())
    return session.scalar(query.limit(1))


def list_base_rates(session: Session) -> list[BaseRateRow]:
    """All of them, newest first."""
    return list(session.scalars(select(BaseRateRow).order_by(BaseRateRow.valid_from.desc())))
