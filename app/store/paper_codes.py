"""The codes that papers about money carry, by which anybody who holds one can check it. They never change.

Certificates and the papers beside them keep theirs in their own rows. What was issued before there were codes has none.
"""

from sqlalchemy import UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.store.database import STRICT, Base


class PaperCodeRow(Base):
    """One code. paper is the kind, paper_id the id in that kind's own table."""

    __tablename__ = "paper_codes"
    __table_args__ = (UniqueConstraint("paper", "paper_id"), STRICT)

    code: Mapped[str] = mapped_column(primary_key=True)
    paper: Mapped[str]
    paper_id: Mapped[int]


def add_paper_code(session: Session, paper: str, paper_id: int, code: str) -> None:
    session.add(PaperCodeRow(code=code, paper=paper, paper_id=paper_id))


def find_code_of(session: Session, paper: str, paper_id: int) -> str:
    """The code of a paper about money; nothing for one that was issued before there were codes."""
    query = select(PaperCodeRow.code).where(PaperCodeRow.paper == paper, PaperCodeRow.paper_id == paper_id)
    return session.scalar(query) or ""


def find_paper_code(session: Session, code: str) -> PaperCodeRow | None:
    return session.scalar(select(PaperCodeRow).where(PaperCodeRow.code == code))
