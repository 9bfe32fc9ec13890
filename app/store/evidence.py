"""Evidence for intervals: how many were tested and how many failed, by customer, equipment type and environment.

Tests of one item are not independent of each other, so items are counted beside tests: an item once, and as failed
where it failed at any test of the time, also where it was put right on the spot. Tests after a repair say what the
repair did and are left out.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import ColumnElement, case, func, or_, select
from sqlalchemy.orm import Session

from app.rules.equipment import Environment
from app.rules.failure_rates import AREAS, FailureRate, TwoPercentRule, check_two_percent, judge_failure_rate
from app.store.customers import CustomerRow
from app.store.equipment_types import EquipmentTypeRow
from app.store.items import ItemRow
from app.store.premises import PremisesRow
from app.store.readings import RoundRow, VisitItemRow

NO_TYPE = "no equipment type"
#: Years that hold every record there is.
EVERYTHING = 0


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


@dataclass(frozen=True)
class Evidence:
    """One group of like items: how many failed, judged by exact bounds and, where it is asked for, the German rule.
    years is the span that was looked at, EVERYTHING for all records.
    """

    count: FailureCount
    rate: FailureRate
    years: int
    two_percent: TwoPercentRule | None = None

    @property
    def sentence(self) -> str:
        """What was counted over which span, the bounds on both sides, and what they support."""
        place = f"{self.count.equipment_type} at {self.count.customer}, {Environment(self.count.environment).word}"
        span = f"over {self.years} year{'s' if self.years > 1 else ''}" if self.years else "over all records"
        return f"{place}, {span}: {self.rate.sentence} The exact 95 % interval is {self.rate.interval_text}."

    @property
    def address(self) -> str:
        """Where an interval is decided for the group; nothing without an equipment type, where nothing is alike."""
        if self.count.equipment_type_id is None:
            return ""
        count = self.count
        return f"/evidence/{count.customer_id}/{count.equipment_type_id}/{count.environment}"


@dataclass(frozen=True)
class KnownEvidence:
    """What is known of one group of like items: over a span that somebody chose, and over all records."""

    chosen: Evidence | None = None
    whole: Evidence | None = None

    @property
    def sentence(self) -> str:
        """What the span holds, and beside it what all records hold where that is another number."""
        if self.whole is None or self.chosen is None:
            return self.whole.sentence if self.whole else ""
        chosen, whole = self.chosen.rate, self.whole.rate
        if (chosen.failed, chosen.tested) == (whole.failed, whole.tested):
            return self.chosen.sentence
        return f"{self.chosen.sentence} Over all records: {whole.sentence}"


def find_known_evidence(
    session: Session,
    today: date,
    years: int,
    customer_id: int,
    equipment_type_id: int | None,
    environment: str,
    premises_id: int | None = None,
) -> KnownEvidence:
    """What is known of one group; nothing without an equipment type, where nothing is alike."""
    if equipment_type_id is None:
        return KnownEvidence()
    group = (customer_id, equipment_type_id, environment, premises_id)
    chosen, whole = (
        next(iter(list_evidence_groups(session, today, each, *group)), None) for each in (years, EVERYTHING)
    )
    return KnownEvidence(chosen, whole)


def list_evidence_groups(
    session: Session,
    today: date,
    years: int,
    customer_id: int | None = None,
    equipment_type_id: int | None = None,
    environment: str = "",
    premises_id: int | None = None,
    two_percent: bool = False,
) -> list[Evidence]:
    """The groups with anything tested in the last years, judged."""
    since = today - timedelta(days=round(365.25 * years)) if years else date.min
    counts = list_failure_counts(session, since, customer_id, equipment_type_id, environment, premises_id)
    return [
        Evidence(
            count,
            judge_failure_rate(count.failed_items, count.items),
            years,
            check_two_percent(count.failed_tests, count.tests, AREAS.get(Environment(count.environment)))
            if two_percent
            else None,
        )
        for count in counts
    ]


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
