"""Evidence for intervals: how many were tested and how many failed, by customer, equipment type and environment."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from app.store.customers import CustomerRow
from app.store.equipment_types import EquipmentTypeRow
from app.store.items import ItemRow
from app.store.premises import PremisesRow
from app.store.readings import VisitItemRow

NO_TYPE = "no equipment type"


@dataclass(frozen=True)
class FailureCount:
    """One group of like items in like places. failed counts visual failures and measured ones."""

    customer_id: int
    customer: str
    equipment_type: str
    environment: str
    tested: int
    failed: int


def list_failure_counts(session: Session, since: date, customer_id: int | None = None) -> list[FailureCount]:
    """The groups with anything tested since a day, the largest first. Like is never pooled with unlike."""
    name = func.coalesce(EquipmentTypeRow.name, NO_TYPE)
    failed = func.sum(case((VisitItemRow.verdict == "fail", 1), else_=0))
    tested = func.count(VisitItemRow.id)
    query = (
        select(CustomerRow.id, CustomerRow.name, name, PremisesRow.environment, tested, failed)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .join(CustomerRow, ItemRow.customer_id == CustomerRow.id)
        .join(PremisesRow, ItemRow.premises_id == PremisesRow.id)
        .outerjoin(EquipmentTypeRow, ItemRow.equipment_type_id == EquipmentTypeRow.id)
        .where(
            VisitItemRow.tested_on >= since, VisitItemRow.verdict.in_(("pass", "fail")), VisitItemRow.not_tested == ""
        )
        .group_by(CustomerRow.id, CustomerRow.name, name, PremisesRow.environment)
        .order_by(tested.desc(), CustomerRow.name, name)
    )
    if customer_id is not None:
        query = query.where(CustomerRow.id == customer_id)
    return [FailureCount(*row) for row in session.execute(query)]
