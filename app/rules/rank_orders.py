"""In how many orders so many pairs of readings go against the order of their days: the exact null distribution of
Kendall's S (Kendall, Rank Correlation Methods), and what follows from it for the interval of a slope (Sen 1968;
Hollander and Wolfe, Nonparametric Statistical Methods, on the slope of Theil).
"""

from collections.abc import Iterable
from functools import lru_cache

#: One order in forty at each side of an interval leaves 95 % between.
SIDE = 40


@lru_cache(maxsize=256)
def list_discordant_counts(sizes: tuple[int, ...]) -> tuple[int, ...]:
    """List in how many orders 0, 1, 2 ... pairs go against the order of the days; their sum is the number of orders.

    sizes says how many readings each day has; two readings of one day make no pair. Where every day has one these are
    the numbers of permutations by their inversions. Counted, not simulated.
    """
    counts: tuple[int, ...] = (1,)
    placed = 0
    for size in sizes:
        placed += size
        counts = _times(counts, _chosen(placed, size))
    return counts


def number_slopes_outside(sizes: Iterable[int]) -> int | None:
    """Give how many of the slopes of all pairs lie outside a 95 % interval at each end; None where there is none.

    At most one order in forty has so many or fewer pairs against it, so that the interval from the next slope on holds
    the true one in 95 % of all cases at least, and in no fewer where readings are equal: a tie, broken by lot, is one
    of the orders that are counted. Four readings of four days have 24 orders, too few for an interval.
    """
    counts = list_discordant_counts(tuple(sorted(sizes)))
    orders, passed = sum(counts), 0
    for outside, count in enumerate(counts):
        passed += count
        if passed * SIDE > orders:
            return outside - 1 if outside else None
    return None


@lru_cache(maxsize=4096)
def _chosen(count: int, size: int) -> tuple[int, ...]:
    """The orders of so many readings by their inversions where two kinds are told apart: a Gaussian binomial."""
    if size in (0, count):
        return (1,)
    without, with_last = _chosen(count - 1, size), _chosen(count - 1, size - 1)
    found = [0] * (size * (count - size) + 1)
    for place, number in enumerate(without):
        found[place + size] += number
    for place, number in enumerate(with_last):
        found[place] += number
    return tuple(found)


def _times(left: tuple[int, ...], right: tuple[int, ...]) -> tuple[int, ...]:
    found = [0] * (len(left) + len(right) - 1)
    for i, one in enumerate(left):
        for j, other in enumerate(right):
            found[i + j] += one * other
    return tuple(found)
