"""Orders of readings, counted: against every order written out, and against SciPy 1.17.1 (scipy.stats.kendalltau with
method="exact"). Kendall, Rank Correlation Methods; Hollander and Wolfe, Nonparametric Statistical Methods.
"""

from collections import Counter
from itertools import permutations
from math import factorial

import pytest

from app.rules.rank_orders import list_discordant_counts, number_slopes_outside

# readings, pairs against the order, two-sided p
KENDALL = [
    (4, 0, 0.08333333333333333), (5, 0, 0.016666666666666666), (5, 1, 0.08333333333333333),
    (6, 1, 0.016666666666666666), (6, 2, 0.05555555555555555), (7, 3, 0.03015873015873016),
    (7, 4, 0.06904761904761905), (8, 5, 0.03115079365079365), (8, 6, 0.06101190476190476),
    (10, 11, 0.04662257495590829), (10, 12, 0.07255015432098766), (12, 18, 0.04473689858238469),
    (20, 64, 0.04676893674989459), (20, 65, 0.054753545747263134), (30, 162, 0.04907734410780935),
    (30, 163, 0.05344665404681454),
]  # fmt: skip


@pytest.mark.parametrize(("readings", "against", "p"), KENDALL)
def test_the_share_of_orders_is_kendalls_exact_probability(readings: int, against: int, p: float) -> None:
    counts = list_discordant_counts((1,) * readings)
    assert 2 * sum(counts[: against + 1]) / factorial(readings) == pytest.approx(p, rel=1e-12)
    outside = number_slopes_outside([1] * readings)
    assert (outside is not None and against <= outside) == (p <= 0.05)


@pytest.mark.parametrize("sizes", [(1, 1, 1, 1), (1,) * 6, (2, 1, 2), (2, 2, 2), (1, 3, 1, 2), (4, 1)])
def test_orders_are_those_written_out(sizes: tuple[int, ...]) -> None:
    """Readings of one day are alike: of the orders of their days each is taken once."""
    days = [day for day, size in enumerate(sizes) for _ in range(size)]
    written = Counter(
        sum(a > b for place, a in enumerate(order) for b in order[place + 1 :]) for order in set(permutations(days))
    )
    assert dict(enumerate(list_discordant_counts(sizes))) == dict(written)


def test_few_readings_have_no_interval() -> None:
    assert [number_slopes_outside([1] * count) for count in range(1, 8)] == [None, None, None, None, 0, 1, 3]
    assert number_slopes_outside([2, 2, 1]) is None  # thirty orders: one of them is more than one in forty
    assert number_slopes_outside([6]) is None
