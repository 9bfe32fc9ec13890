"""What falls due, drawn together so that one visit serves what is due within a window, and what its day costs.

A visit on a day serves what falls due up to some days later, and what was due up to some days before. What waits for a
test without a date goes with the first visit there. The time it takes comes from the firm's own pace.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from app.rules.discounts import list_document_allowances
from app.rules.equipment import Kind
from app.rules.money import OUTSIDE_SCOPE, convert_to_pence, total_invoice
from app.rules.paces import Estimate, Paces, total_estimate
from app.rules.priced_lines import list_visit_lines
from app.rules.prices import PriceAgreement, VisitItem

_BRITISH = re.compile(r"([A-Z]{1,2}[0-9][0-9A-Z]?) ?[0-9][A-Z]{2}")


@dataclass(frozen=True)
class DueGroup:
    """Items alike that fall due on one day at one premises."""

    due_on: date
    kind: Kind
    type_name: str
    count: int


@dataclass(frozen=True)
class DueVisit:
    """One visit that is proposed: its day, what it serves, and what that day costs.

    days_lost: days of interval given up, all items together, where they are tested before they fall due.
    overdue: items that fall due before that day; days_overdue: for how long, all items together. waiting: how many of
    the items have no date, since they have passed no test yet or are out of use; their groups have the visit's day.
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
    waiting: int = 0


def describe_area(postcode: str) -> str:
    """The area of a postcode: its outward code, such as ZZ1 of ZZ1 4QD; what stands before a space where it is another
    country's. Common practice of the post: the inward code of a British postcode is its last three characters.
    """
    plain = " ".join(postcode.upper().split())
    if found := _BRITISH.fullmatch(plain):
        return found[1]
    return plain.split(" ")[0]


def suggest_visits(
    groups: Sequence[DueGroup],
    today: date,
    early_days: int,
    late_days: int,
    waiting: Mapping[tuple[Kind, str], int] | None = None,
) -> tuple[DueVisit, ...]:
    """Suggest as few visits to one premises as the window allows, each as soon as everything it serves is within it.

    What is overdue already is served by the first, and so are the items that wait for a test without a date (waiting:
    how many by kind and type). Fewest: each visit begins at the earliest date not yet served.
    """
    left = sorted(groups, key=lambda group: group.due_on)
    found: list[DueVisit] = []
    while left:
        latest = max(today, left[0].due_on + timedelta(days=late_days))
        until = latest + timedelta(days=early_days)
        served = [group for group in left if group.due_on <= until]
        left = left[len(served) :]
        day = max(today, served[0].due_on, served[-1].due_on - timedelta(days=early_days))
        undated = {} if found or waiting is None else waiting
        found.append(_visit(day, served, undated))
    return tuple(found)


def total_due_estimate(visit: DueVisit, paces: Paces) -> Estimate:
    """Estimate how long a visit to what falls due takes."""
    counts: dict[Kind, int] = {}
    for group in visit.groups:
        counts[group.kind] = counts.get(group.kind, 0) + group.count
    return total_estimate(counts, paces)


def total_pence(
    groups: Sequence[DueGroup],
    agreement: PriceAgreement,
    miles: Decimal | None = None,
    known: dict[object, int] | None = None,
) -> int:
    """Work out what a visit comes to without VAT, in pence, if every item is there and tested.

    known: what was worked out already; hundreds of visits of a long list have the same mix of priced items.
    """
    if known is not None:
        key = (id(agreement), miles, _mix(groups, agreement))
        if key not in known:
            known[key] = total_pence(groups, agreement, miles)
        return known[key]
    items = [VisitItem("", group.kind, type_name=group.type_name) for group in groups for _ in range(group.count)]
    lines = [line.priced for line in list_visit_lines(agreement, items, OUTSIDE_SCOPE, miles=miles)]
    return convert_to_pence(total_invoice(lines, list_document_allowances(agreement.discount, lines)).net)


def _mix(groups: Sequence[DueGroup], agreement: PriceAgreement) -> frozenset[tuple[str, int]]:
    """How many items there are of each group that has a price of its own, and of all others."""
    types = {rate.type_name for rate in agreement.rates if rate.type_name}
    kinds = {rate.kind for rate in agreement.rates} | set(agreement.price_by_kind)
    found: dict[str, int] = {}
    for group in groups:
        own = f"type {group.type_name}" if group.type_name in types else group.kind if group.kind in kinds else ""
        found[own] = found.get(own, 0) + group.count
    return frozenset(found.items())


def _visit(day: date, served: Sequence[DueGroup], undated: Mapping[tuple[Kind, str], int]) -> DueVisit:
    before = [group for group in served if group.due_on < day]
    after = [group for group in served if group.due_on > day]
    return DueVisit(
        day,
        served[0].due_on,
        served[-1].due_on,
        (*served, *(DueGroup(day, kind, name, count) for (kind, name), count in undated.items())),
        items=sum(group.count for group in served) + sum(undated.values()),
        early=sum(group.count for group in after),
        days_lost=sum((group.due_on - day).days * group.count for group in after),
        overdue=sum(group.count for group in before),
        days_overdue=sum((day - group.due_on).days * group.count for group in before),
        waiting=sum(undated.values()),
    )
