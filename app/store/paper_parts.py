"""The parts of issued papers that are too long for one file. They are written with the paper and never change."""

from sqlalchemy import UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.store.database import STRICT, Base, Missing


class PaperPartRow(Base):
    """One part: place counts from 1, first_page in the whole paper. paper is the kind, paper_id its own table's id."""

    __tablename__ = "paper_parts"
    __table_args__ = (UniqueConstraint("paper", "paper_id", "place"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    paper: Mapped[str]
    paper_id: Mapped[int]
    place: Mapped[int]
    file_name: Mapped[str] = mapped_column(unique=True)
    sha256: Mapped[str]
    size_bytes: Mapped[int]
    first_page: Mapped[int]
    pages: Mapped[int]
    items: Mapped[int]
    first_item: Mapped[str]
    last_item: Mapped[str]

    @property
    def last_page(self) -> int:
        return self.first_page + self.pages - 1


def add_paper_part(session: Session, paper: str, paper_id: int, part: object) -> None:
    """Keep what is known of a part; part has the columns of the same names."""
    names = ("place", "file_name", "sha256", "size_bytes", "first_page", "pages", "items", "first_item", "last_item")
    session.add(PaperPartRow(paper=paper, paper_id=paper_id, **{name: getattr(part, name) for name in names}))


def list_paper_parts(session: Session, paper: str, paper_id: int) -> list[PaperPartRow]:
    """The parts of a paper in their order; none for a paper in one file."""
    query = select(PaperPartRow).where(PaperPartRow.paper == paper, PaperPartRow.paper_id == paper_id)
    return list(session.scalars(query.order_by(PaperPartRow.place)))


def get_paper_part(session: Session, paper: str, paper_id: int, place: int) -> PaperPartRow:
    """Raises Missing."""
    row = next((row for row in list_paper_parts(session, paper, paper_id) if row.place == place), None)
    if row is None:
        raise Missing("part")
    return row
