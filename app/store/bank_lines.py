"""Files of bank statements while somebody says what their columns mean, and the lines of money that were taken in."""

from datetime import date
from typing import Any

from sqlalchemy import ForeignKey, func, select
from sqlalchemy.orm import Mapped, Session, defer, mapped_column, relationship

from app.store.database import Base, Missing
from app.store.uploaded_lists import UploadColumns


class BankFileRow(UploadColumns, Base):
    """A bank statement as it was brought in."""

    __tablename__ = "bank_files"


class BankLineRow(Base):
    """Money that came in, as the bank tells it. state: open, booked, or set aside as none of a customer's."""

    __tablename__ = "bank_lines"

    id: Mapped[int] = mapped_column(primary_key=True)
    bank_file_id: Mapped[int] = mapped_column(ForeignKey("bank_files.id"), index=True)
    booked_on: Mapped[date]
    pence: Mapped[int]
    text: Mapped[str]
    reference: Mapped[str]
    payer: Mapped[str]
    mark: Mapped[str] = mapped_column(unique=True)
    state: Mapped[str] = mapped_column(default="open", index=True)
    bank_file: Mapped[BankFileRow] = relationship()

    @property
    def words(self) -> str:
        """All that the bank says of it."""
        return " ".join(dict.fromkeys(each for each in (self.payer, self.text, self.reference) if each))


def get_bank_file(session: Session, bank_file_id: int, locked: bool = False) -> BankFileRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(BankFileRow, bank_file_id, with_for_update=locked or None)
    if row is None:
        raise Missing("bank statement")
    return row


def get_bank_line(session: Session, bank_line_id: int, locked: bool = False) -> BankLineRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(BankLineRow, bank_line_id, with_for_update=locked or None)
    if row is None:
        raise Missing("bank line")
    return row


def find_columns_of(session: Session, mark: str) -> dict[str, Any] | None:
    """How the last file with the same columns was read."""
    query = select(BankFileRow.columns).where(BankFileRow.mark == mark, BankFileRow.state == "taken")
    return session.scalar(query.order_by(BankFileRow.id.desc()).limit(1))


def list_bank_files(session: Session, limit: int = 20) -> list[BankFileRow]:
    """Files, newest first, without their contents."""
    query = select(BankFileRow).options(defer(BankFileRow.content))
    return list(session.scalars(query.order_by(BankFileRow.id.desc()).limit(limit)))


def list_bank_lines(session: Session, state: str = "open", limit: int = 500) -> list[BankLineRow]:
    """Lines in one state; open ones the oldest first, others the newest first."""
    query = select(BankLineRow).where(BankLineRow.state == state)
    order = (BankLineRow.booked_on, BankLineRow.id)
    query = query.order_by(*order) if state == "open" else query.order_by(*(column.desc() for column in order))
    return list(session.scalars(query.limit(limit)))


def count_bank_lines(session: Session, state: str = "open") -> int:
    query = select(func.count(BankLineRow.id)).where(BankLineRow.state == state)
    return session.scalar(query) or 0


def list_known_marks(session: Session, marks: list[str]) -> set[str]:
    """Those of the marks whose lines are there already."""
    known: set[str] = set()
    for start in range(0, len(marks), 500):
        query = select(BankLineRow.mark).where(BankLineRow.mark.in_(marks[start : start + 500]))
        known |= set(session.scalars(query))
    return known
