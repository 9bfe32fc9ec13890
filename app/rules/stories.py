"""A customer's three years on one page: what was done, what failed and why, what was put right, and what comes next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from app.rules.equipment import Kind
from app.rules.failure_causes import count_causes
from app.rules.failure_pictures import (
    describe_causes,
    describe_change,
    describe_failures_picture,
    list_shares,
    number_share,
)
from app.rules.month_pictures import describe_due_picture
from app.rules.pictures import Picture

#: Fewer closed defects than this say nothing about how long it usually takes.
CLOSED_LEAST = 3


@dataclass(frozen=True)
class StoryYear:
    """Twelve months, both days included."""

    starts_on: date
    ends_on: date
    visits: int
    tested: int
    failed: int

    @property
    def name(self) -> str:
        return f"{self.starts_on:%b %Y} to {self.ends_on:%b %Y}"


@dataclass(frozen=True)
class StoryFacts:
    """What a story is told from. causes: (check, point, item); kinds: (kind, failed, tested) items of the whole time;
    defects: the days on which each was found and closed."""

    years: tuple[StoryYear, ...]
    causes: Sequence[tuple[str, str, int]]
    kinds: Sequence[tuple[str, int, int]]
    failed: int
    defects: Sequence[tuple[date, date | None]]
    due: Mapping[date, int]
    items: int
    out_of_use: int


@dataclass(frozen=True)
class Story:
    """figures: numbers with a word each, for the head of the page."""

    starts_on: date
    ends_on: date
    figures: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]
    pictures: tuple[Picture, ...]

    @property
    def is_empty(self) -> bool:
        return not self.pictures


def describe_story(facts: StoryFacts, today: date) -> Story:
    """Tell a customer's story from the facts; where nothing was tested there is no picture."""
    first, last = facts.years[0], facts.years[-1]
    visits, tested = sum(year.visits for year in facts.years), last.tested
    figures = (
        (f"{facts.items:,}", "item on the register" if facts.items == 1 else "items on the register"),
        (f"{visits:,}", "visit in three years" if visits == 1 else "visits in three years"),
        (f"{tested:,}", "tested in the last year"),
        (f"{last.failed:,}", "failed in the last year"),
    )
    sentences = (_defects_told(facts.defects, first.starts_on), _out_of_use_told(facts.out_of_use))
    pictures: list[Picture] = []
    if any(year.tested for year in facts.years):
        years = [number_share(year.name, year.failed, year.tested) for year in facts.years if year.tested]
        causes = [number_share(name, count, facts.failed) for name, count in count_causes(facts.causes)]
        kinds = list_shares((Kind(kind).word, failed, tested) for kind, failed, tested in facts.kinds)
        pictures = [
            describe_failures_picture("Failures, year by year", "Year", years, describe_change(years)),
            describe_failures_picture(
                "What made items fail", "Cause", causes, describe_causes(causes, facts.failed),
                "An item may have failed for several causes.",
            ),
            describe_failures_picture("Failures by kind of equipment", "Kind", kinds),
            describe_due_picture(facts.due, today),
        ]  # fmt: skip
    return Story(first.starts_on, last.ends_on, figures, tuple(each for each in sentences if each), tuple(pictures))


def _defects_told(defects: Sequence[tuple[date, date | None]], since: date) -> str:
    found = [each for each in defects if each[0] >= since]
    if not found:
        return "No defect was found in this time."
    days = sorted((closed_on - found_on).days for found_on, closed_on in found if closed_on is not None)
    open_now = len(found) - len(days)
    told = (
        f"{len(found):,} defect{'' if len(found) == 1 else 's'} found; {len(days):,} put right and passed at a retest"
    )
    if len(days) >= CLOSED_LEAST:
        told += f", half of them within {days[len(days) // 2]:,} days"
    return f"{told}, {open_now:,} still open."


def _out_of_use_told(number: int) -> str:
    if not number:
        return ""
    told = "item is out of use and waits" if number == 1 else "items are out of use and wait"
    return f"{number:,} {told} to be put right."
