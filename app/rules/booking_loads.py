"""How full the weeks of people are, from what is booked and what is about to be."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from app.rules.booking_conflicts import Planned
from app.rules.proposals import Question


@dataclass(frozen=True)
class Load:
    """A week of one person in minutes: hours worked, booked on site, proposed. monday: its first day."""

    monday: date
    hours: int
    booked: int
    proposed: int


def total_loads(question: Question, plans: Sequence[Planned]) -> dict[str, tuple[Load, ...]]:
    """Add up the weeks of everybody who can be sent, by name."""
    mondays = sorted({_monday(day) for day in question.days})
    hours: dict[tuple[int, date], int] = defaultdict(int)
    booked: dict[tuple[int, date], int] = defaultdict(int)
    proposed: dict[tuple[int, date], int] = defaultdict(int)
    for worker in question.workers:
        for day in question.days:
            span = worker.week[day.weekday()]
            if span is not None and day not in worker.off:
                hours[worker.id, _monday(day)] += span[1] - span[0]
    for fixed in question.fixed:
        booked[fixed.worker_id, _monday(fixed.day)] += fixed.minutes
    for plan in plans:
        proposed[plan.worker_id, _monday(plan.day)] += plan.minutes
    return {
        worker.name: tuple(
            Load(monday, *(kept[worker.id, monday] for kept in (hours, booked, proposed))) for monday in mondays
        )
        for worker in question.workers
    }


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
