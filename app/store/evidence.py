"""Evidence for intervals: how many were tested and how many failed, by customer, equipment type and environment.

Tests of one item are not independent of each other, so items are counted beside tests: an item once, and as failed
where it failed at any test of the time, also where it was put right on the spot. Tests after a repair say what the
repair did and are left out.
"""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, case, func, or_, select
from sqlalchemy.orm import Session

from app.store.customers import CustomerRow
from app.store.equipment_types import EquipmentTypeRow
from app.store.items import ItemRow
from app.store.premises import PremisesRow
from app.store.readings import RoundRow, VisitItemRow

NO_TYPE = "no equipment type"


@dataclass(frozen=True)
class FailureCount:
    """One group of like items in like places. Failures are those seen and those measured."""

    customer_id: int
    customer: str
    equipment_type_id: int | None
    equipment_type: str
    environment: str
    tests: int
    failed_tests: int
    items: int
    failed_items: int


def list_failure_counts(
    session: Session,
    since: date,
    customer_id: int | None = None,
    equipment_type_id: int | None = None,
    environment: str = "",
    premises_id: int | None = None,
) -> list[FailureCount]:
    """The groups with anything tested since a day, the largest first. Like is never pooled with unlike."""
    name = func.coalesce(EquipmentTypeRow.name, NO_TYPE)
    failed = count_as_failed()
    tests = func.count(VisitItemRow.id)
    items, failed_items = ItemRow.id.distinct(), case((failed, ItemRow.id)).distinct()
    type_id, environment_of = ItemRow.equipment_type_id, PremisesRow.environment
    counted = (tests, func.sum(case((failed, 1), else_=0)), func.count(items), func.count(failed_items))
    query = (
        select(CustomerRow.id, CustomerRow.name, type_id, name, environment_of, *counted)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .join(CustomerRow, ItemRow.customer_id == CustomerRow.id)
        .join(PremisesRow, ItemRow.premises_id == PremisesRow.id)
        .outerjoin(EquipmentTypeRow, type_id == EquipmentTypeRow.id)
        .where(
            VisitItemRow.tested_on >= since,
            VisitItemRow.verdict.in_(("pass", "fail")),
            VisitItemRow.not_tested == "",
            count_as_test(),
        )
        .group_by(CustomerRow.id, CustomerRow.name, type_id, name, environment_of)
        .order_by(tests.desc(), CustomerRow.name, name)
    )
    for column, wanted in (
        (CustomerRow.id, customer_id),
        (type_id, equipment_type_id),
        (environment_of, environment or None),
        (PremisesRow.id, premises_id),
    ):
        if wanted is not None:
            query = query.where(column == wanted)
    return [FailureCount(*row) for row in session.execute(query)]


def count_as_failed() -> ColumnElement[bool]:
    """Whether an item of a visit counts as failed, as SQL: as it was found, whatever was put right on the spot."""
    found = select(RoundRow.id).where(
        RoundRow.visit_item_id == VisitItemRow.id, RoundRow.verdict == "fail", RoundRow.after_repair.is_(False)
    )
    return or_(VisitItemRow.verdict == "fail", found.correlate(VisitItemRow).exists())


def count_as_test() -> ColumnElement[bool]:
    """Whether an item of a visit counts as tested, as SQL: not where all of it was after a repair."""
    found = select(RoundRow.id).where(RoundRow.visit_item_id == VisitItemRow.id, RoundRow.after_repair.is_(False))
    return or_(VisitItemRow.after_repair.is_(False), found.correlate(VisitItemRow).exists())
