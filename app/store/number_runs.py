"""Runs of item numbers that were printed on labels before there were items for them."""

from datetime import date

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.store.customers import CustomerRow
from app.store.database import Base, Missing


class NumberRunRow(Base):
    """A run of numbers of one customer. They are proposed for no other item; scanning such a label takes its number."""

    __tablename__ = "number_runs"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    first_number: Mapped[str]
    last_number: Mapped[str]
    count: Mapped[int]
    reserved_on: Mapped[date]
    customer: Mapped[CustomerRow] = relationship()


def get_number_run(session: Session, number_run_id: int) -> NumberRunRow:
    """Raises Missing."""
    row = session.get(NumberRunRow, number_run_id)
    if row is None:
        raise Missing("run of numbers")
    return row


def list_number_runs(session: Session, customer_id: int) -> list[NumberRunRow]:
    """The runs of a customer, newest first."""
    query = select(NumberRunRow).where(NumberRunRow.customer_id == customer_id).order_by(NumberRunRow.id.desc())
    return list(session.scalars(query))
