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
from app.rules.paces import Estimate, Paces, total_estimate
from app.rules.priced_lines import list_visit_lines
from app.rules.prices import PriceAgreement, VisitItem


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
