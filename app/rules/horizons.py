"""Until when readings are followed: the next visit, today where that is overdue, a year on where none falls due."""

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True)
class Horizon:
    """Until when a line is followed, seen from today: words as a sentence says it, mark as a picture does."""

    on: date
    today: date
    words: str
    mark: str


def next_horizon(due_on: date | None, today: date) -> Horizon:
    """Give the next visit; today where that is overdue; a year on where nothing falls due (hire, battery)."""
    if due_on is None:
        return Horizon(
            today + timedelta(days=365), today, "within a year; no next visit falls due by itself", "a year on"
        )
    if due_on < today:
        return Horizon(today, today, "and the next visit is overdue", "today")
    return Horizon(due_on, today, "before the next visit", "next visit")
