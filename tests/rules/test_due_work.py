"""Visits that could be made: fewest within the window, the cost of their day, and the price.

The fewest points that meet every span of days: compared with a search through all choices of days. Common practice,
no source.
"""

from datetime import date, timedelta
from decimal import Decimal
from itertools import combinations
from random import Random

import pytest

from app.rules.due_work import DueGroup, suggest_visits, total_pence
from app.rules.equipment import Kind
from app.rules.prices import PriceAgreement, Rate

TODAY = date(2026, 3, 4)


def group(days: int, count: int = 1) -> DueGroup:
    return DueGroup(TODAY + timedelta(days=days), Kind.APPLIANCE, "", count)


def fewest(days: list[int], early: int, late: int) -> int:
    """The fewest visits, by trying every set of days. A day serves what is overdue already too."""
    spans = [(max(0, day - early), max(0, day + late)) for day in days]
    choices = range(max(end for _, end in spans) + 1)
    for number in range(1, len(days) + 1):
        for chosen in combinations(choices, number):
            if all(any(begin <= day <= end for day in chosen) for begin, end in spans):
                return number
    raise AssertionError("every item alone is always possible")


@pytest.mark.parametrize("seed", range(12))
def test_no_choice_of_days_needs_fewer_visits(seed: int) -> None:
    luck = Random(seed)
    days = [luck.randint(-5, 18) for _ in range(luck.randint(1, 6))]
    early, late = luck.randint(0, 5), luck.randint(0, 4)
    found = suggest_visits([group(day) for day in days], TODAY, early, late)
    assert len(found) == fewest(days, early, late)
    assert sum(visit.items for visit in found) == len(days)
    for visit in found:
        for each in visit.groups:
            assert visit.day - timedelta(days=late) <= each.due_on or each.due_on < TODAY and visit.day == TODAY
            assert each.due_on <= visit.day + timedelta(days=early)


def test_what_a_day_costs_is_counted_by_item() -> None:
    (visit,) = suggest_visits([group(-10, 2), group(5, 3), group(0, 4)], TODAY, 30, 0)
    assert visit.day == TODAY
    assert (visit.early, visit.days_lost) == (3, 15)
    assert (visit.overdue, visit.days_overdue) == (2, 20)


def test_going_late_saves_a_visit_and_goes_no_later_than_it_must() -> None:
    assert len(suggest_visits([group(10), group(60)], TODAY, 30, 0)) == 2
    (visit,) = suggest_visits([group(10), group(60)], TODAY, 30, 40)
    assert visit.day == TODAY + timedelta(days=30)
    assert (visit.overdue, visit.days_overdue, visit.early, visit.days_lost) == (1, 20, 1, 30)


def test_money_keeps_the_agreed_minimum() -> None:
    agreement = PriceAgreement(Decimal("1.35"), minimum_charge=Decimal(60), call_out=Decimal(25))
    assert total_pence([group(0, 3)], agreement) == 6000
    assert total_pence([group(0, 60), group(4, 40)], agreement) == 16000


def test_a_mix_worked_out_before_comes_to_the_same() -> None:
    """Every total of many visits, with prices by kind, by type, from a number on, and none, is as worked out alone."""
    random = Random(11)
    agreements = (
        PriceAgreement(Decimal("1.35"), minimum_charge=Decimal(60), travel_rate=Decimal("0.45")),
        PriceAgreement(
            Decimal("1.35"), {Kind.EXTENSION_LEAD: Decimal("0.80")}, call_out=Decimal(25),
            rates=(Rate(Decimal("1.1"), 20), Rate(Decimal(4), type_name="Kiln"), Rate(Decimal(2), 5, type_name="Kiln")),
        ),
    )  # fmt: skip
    known: dict[object, int] = {}
    for _ in range(150):
        groups = [
            DueGroup(TODAY, random.choice(list(Kind)[:3]), random.choice(("", "Kiln", "Lamp")), random.randint(1, 12))
            for _ in range(random.randint(1, 6))
        ]  # fmt: skip
        agreement, miles = random.choice(agreements), random.choice((None, Decimal(12)))
        assert total_pence(groups, agreement, miles, known) == total_pence(groups, agreement, miles)
    assert len(known) < 150
