"""The decisions about intervals: who decided what for an item, when and why, on which answers and evidence."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column

from app.rules.items import ItemState
from app.store.database import Base
from app.store.items import ItemRow
from app.store.premises import PremisesRow


class IntervalDecisionRow(Base):
    """One decision for one item. months is None where the usual interval was to hold again; months_before is what held
    until then, together how many items it was decided for at once. It is never changed.
    """

    __tablename__ = "interval_decisions"

    id: Mapped[int] = mapped_column(primary_key=True)
    item_id: Mapped[int] = mapped_column(ForeignKey("items.id"), index=True)
    decided_on: Mapped[date]
    decided_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    person_name: Mapped[str]
    months: Mapped[int | None]
    months_before: Mapped[int | None]
    reason: Mapped[str]
    answers: Mapped[dict[str, Any] | None]
    evidence: Mapped[str]
    together: Mapped[int]


def add_interval_decision(session: Session, row: IntervalDecisionRow) -> None:
    session.add(row)


def list_interval_decisions(session: Session, item_id: int) -> list[IntervalDecisionRow]:
    """The decisions about an item, newest first."""
    return list(
        session.scalars(
            select(IntervalDecisionRow)
            .where(IntervalDecisionRow.item_id == item_id)
            .order_by(IntervalDecisionRow.id.desc())
        )
    )


def list_items_alike(
    session: Session, customer_id: int, equipment_type_id: int, environment: str, premises_id: int | None = None
) -> list[ItemRow]:
    """The items of one equipment type at a customer in places of one kind, in one question; none that is withdrawn."""
    query = (
        select(ItemRow)
        .join(PremisesRow, ItemRow.premises_id == PremisesRow.id)
        .where(
            ItemRow.customer_id == customer_id,
            ItemRow.equipment_type_id == equipment_type_id,
            PremisesRow.environment == environment,
            ItemRow.state != ItemState.WITHDRAWN.value,
        )
        .order_by(PremisesRow.name, ItemRow.number)
        .options(joinedload(ItemRow.premises), joinedload(ItemRow.location), joinedload(ItemRow.equipment_type))
    )
    if premises_id is not None:
        query = query.where(ItemRow.premises_id == premises_id)
    return list(session.scalars(query))
