"""What falls due, drawn together so that one visit serves what is due within a window, and what its day costs.

A visit on a day serves what falls due up to some days later, and what was due up to some days before. The time it
takes comes from the firm's own pace.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from app.rules.discounts import list_document_allowances
from app.rules.equipment import Kind
from app.rules.money import OUTSIDE_SCOPE, convert_to_pence, total_invoice
from app.rules.priced_lines import list_visit_lines
from app.rules.prices import PriceAgreement, VisitItem
from app.rules.quantities import number_rounded

#: Minutes an item where the firm has no record of its own yet: a plain assumption, no source.
MINUTES_ASSUMED = Decimal(5)
#: Fewer finished visits than this say too little about the pace.
VISITS_LEAST = 3
#: Longer than this from the first item to the last is more than one working day, so it says nothing about the pace.
HOURS_MOST = 14


@dataclass(frozen=True)
class DueGroup:
    """Items alike that fall due on one day at one premises."""

    due_on: date
    kind: Kind
    type_name: str
    count: int


@dataclass(frozen=True)
class Pace:
    """Minutes an item, of the middle visit; sentence says what that rests on."""

    minutes: Decimal
    sentence: str


@dataclass(frozen=True)
class DueVisit:
    """One visit that is proposed: its day, what it serves, and what that day costs.

    days_lost: days of interval given up, all items together, where they are tested before they fall due.
    overdue: items that fall due before that day; days_overdue: for how long, all items together.
    """

    day: date
    first_due_on: date
    last_due_on: date
    groups: tuple[DueGroup, ...]
    items: int
    early: int
    days_lost: int
    overdue: int
    days_overdue: int


def suggest_visits(groups: Sequence[DueGroup], today: date, early_days: int, late_days: int) -> tuple[DueVisit, ...]:
    """Suggest as few visits to one premises as the window allows, each as soon as everything it serves is within it.

    What is overdue already is served by the first. Fewest: each visit begins at the earliest date not yet served.
    """
    waiting = sorted(groups, key=lambda group: group.due_on)
    found = []
    while waiting:
        latest = max(today, waiting[0].due_on + timedelta(days=late_days))
        until = latest + timedelta(days=early_days)
        served = [group for group in waiting if group.due_on <= until]
        waiting = waiting[len(served) :]
        day = max(today, served[0].due_on, served[-1].due_on - timedelta(days=early_days))
        found.append(_visit(day, served))
    return tuple(found)


def total_minutes(items: int, pace: Pace) -> int:
    """Work out the whole minutes that some items take at a pace."""
    return int(number_rounded(items * pace.minutes, 0))


def total_pence(groups: Sequence[DueGroup], agreement: PriceAgreement, miles: Decimal | None = None) -> int:
    """Work out what a visit comes to without VAT, in pence, if every item is there and tested."""
    items = [VisitItem("", group.kind, type_name=group.type_name) for group in groups for _ in range(group.count)]
    lines = [line.priced for line in list_visit_lines(agreement, items, OUTSIDE_SCOPE, miles=miles)]
    return convert_to_pence(total_invoice(lines, list_document_allowances(agreement.discount, lines)).net)


def number_pace(spans: Sequence[tuple[int, int]]) -> Pace:
    """Give the pace from finished visits: (seconds from the first item to the last, items) of each.

    The first item has no beginning on record, so a span of n items is n - 1 steps.
    """
    known = sorted(
        Decimal(seconds) / 60 / (items - 1)
        for seconds, items in spans
        if items > 1 and 0 < seconds <= HOURS_MOST * 3600
    )
    if len(known) < VISITS_LEAST:
        return Pace(
            MINUTES_ASSUMED,
            f"Times assume {MINUTES_ASSUMED} minutes an item, because fewer than {VISITS_LEAST} finished visits"
            " say how long the firm takes.",
        )
    minutes = number_rounded(known[len(known) // 2], 1)
    quarter, three = number_rounded(known[len(known) // 4], 1), number_rounded(known[len(known) * 3 // 4], 1)
    return Pace(
        minutes,
        f"Times rest on the firm’s own pace: {minutes:.1f} minutes an item, the middle of its last {len(known)} visits"
        f" (half of them took {quarter:.1f} to {three:.1f}). Travel is not in them.",
    )


def _visit(day: date, served: Sequence[DueGroup]) -> DueVisit:
    before = [group for group in served if group.due_on < day]
    after = [group for group in served if group.due_on > day]
    return DueVisit(
        day,
        served[0].due_on,
        served[-1].due_on,
        tuple(served),
        items=sum(group.count for group in served),
        early=sum(group.count for group in after),
        days_lost=sum((group.due_on - day).days * group.count for group in after),
        overdue=sum(group.count for group in before),
        days_overdue=sum((day - group.due_on).days * group.count for group in before),
    )
