"""The sheets and rolls of labels that the firm has described."""

from decimal import Decimal

from sqlalchemy import UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.rules.label_sheets import Codes, Dots, Feed, LabelSheetDetails
from app.store.database import STRICT, Base, Missing


class LabelSheetRow(Base):
    __tablename__ = "label_sheets"
    __table_args__ = (UniqueConstraint("name"), STRICT)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    feed: Mapped[str]
    width_mm: Mapped[Decimal]
    height_mm: Mapped[Decimal]
    columns: Mapped[int]
    rows: Mapped[int]
    left_mm: Mapped[Decimal]
    top_mm: Mapped[Decimal]
    gap_across_mm: Mapped[Decimal]
    gap_down_mm: Mapped[Decimal]
    inset_mm: Mapped[Decimal]
    shift_right_mm: Mapped[Decimal]
    shift_down_mm: Mapped[Decimal]
    dots: Mapped[str]
    codes: Mapped[str]
    shows_description: Mapped[bool]
    shows_next: Mapped[bool]
    shows_firm: Mapped[bool]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> LabelSheetDetails:
        values = {name: getattr(self, name) for name in LabelSheetDetails.__dataclass_fields__}
        words = {"feed": Feed(self.feed), "dots": Dots(self.dots), "codes": Codes(self.codes)}
        return LabelSheetDetails(**values | words)


def get_label_sheet(session: Session, label_sheet_id: int) -> LabelSheetRow:
    """Raises Missing."""
    row = session.get(LabelSheetRow, label_sheet_id)
    if row is None:
        raise Missing("label sheet")
    return row


def list_label_sheets(session: Session) -> list[LabelSheetRow]:
    return list(session.scalars(select(LabelSheetRow).order_by(LabelSheetRow.name)))


def find_label_sheet_by_name(session: Session, name: str) -> LabelSheetRow | None:
    return session.scalar(select(LabelSheetRow).where(LabelSheetRow.name == name))


def remove_label_sheet(session: Session, row: LabelSheetRow) -> None:
    session.delete(row)
