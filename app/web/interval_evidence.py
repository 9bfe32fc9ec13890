"""The firm's own evidence for an interval as pages show it: counts, exact bounds, and a sentence that says them."""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy.orm import Session

from app.rules.equipment import Environment
from app.rules.failure_rates import AREAS, FailureRate, TwoPercentRule, check_two_percent, judge_failure_rate
from app.store.evidence import FailureCount, list_failure_counts

YEARS = (1, 2, 3, 5, 10)
YEARS_USUAL = 3
VIEWS = {"exact": "Exact 95 % bounds", "two-percent": "German 2 % rule"}
COUNTING = (
    "Tests of the same item are not independent of each other, so an item counts once: as failed where it failed at "
    "any test of the time. Tests after a repair are left out."
)


@dataclass(frozen=True)
class Evidence:
    """One group of like items: how many failed, judged by exact bounds and, where it is asked for, the German rule."""

    count: FailureCount
    rate: FailureRate
    years: int
    two_percent: TwoPercentRule | None = None

    @property
    def sentence(self) -> str:
        """What was counted, the bounds on both sides, and what they support."""
        place = f"{self.count.equipment_type} at {self.count.customer}, {Environment(self.count.environment).word}"
        span = f"over {self.years} year{'s' if self.years > 1 else ''}"
        return f"{place}, {span}: {self.rate.sentence} The exact 95 % interval is {self.interval}."

    @property
    def interval(self) -> str:
        return f"{self.rate.lower:.1f} % to {self.rate.upper:.1f} %"

    @property
    def address(self) -> str:
        """Where an interval is decided for the group; nothing without an equipment type, where nothing is alike."""
        if self.count.equipment_type_id is None:
            return ""
        count = self.count
        return f"/evidence/{count.customer_id}/{count.equipment_type_id}/{count.environment}"


def list_evidence_rows(
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
    since = today - timedelta(days=round(365.25 * years))
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
