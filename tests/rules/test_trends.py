"""Robust lines against SciPy 1.17.1 (scipy.stats.theilslopes, alpha 0.95)."""

from datetime import date, timedelta
from decimal import Decimal
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.quantities import Unit
from app.rules.trends import describe_trend, number_slopes

# x, y, slope, low, high
SCIPY = [
    (("0", "1", "2", "3", "4"), ("0.10", "0.11", "0.105", "0.12", "0.13"), 0.007083333333333334, -0.005, 0.015),
    (("0", "1", "2", "3", "4", "5", "6", "7"), ("10", "12", "9", "14", "13", "15", "15", "17"), 1.0, 1 / 3, 2.0),
    (("0", "0", "1", "1", "2", "2"), ("0.1", "0.12", "0.12", "0.15", "0.15", "0.2"), 0.03, 0.0, 0.08),
    (("0", "1", "2", "3"), ("5", "5", "5", "5"), 0.0, 0.0, 0.0),
    (tuple("0123456789"), tuple("3141592653"), 1 / 3, -0.5, 0.8333333333333334),
]  # fmt: skip


@pytest.mark.parametrize(("xs", "ys", "slope", "low", "high"), SCIPY)
def test_slopes_against_scipy(xs: tuple[str, ...], ys: tuple[str, ...], slope: float, low: float, high: float) -> None:
    found = number_slopes([Decimal(x) for x in xs], [Decimal(y) for y in ys])
    assert [float(each) for each in found] == pytest.approx([slope, low, high], abs=1e-12)


def history(*values: str) -> list[tuple[date, Decimal]]:
    return [(date(2022, 3, 1) + timedelta(days=365 * year), Decimal(value)) for year, value in enumerate(values)]


def test_a_trend_that_meets_the_limit_before_the_next_visit_warns() -> None:
    rising = history("0.10", "0.11", "0.12", "0.13")
    near = describe_trend(rising, Unit.OHM, at_most=Decimal("0.139"), next_visit_on=date(2026, 3, 1))
    assert near is not None and near.warning
    assert near.meets_on is not None and date(2025, 12, 1) < near.meets_on < date(2026, 3, 1)
    assert "before the next visit" in near.sentence
    far = describe_trend(rising, Unit.OHM, at_most=Decimal("0.2"), next_visit_on=date(2026, 3, 1))
    assert far is not None and not far.warning


def test_a_falling_insulation_resistance_meets_its_limit_from_above() -> None:
    falling = history("20", "14", "8", "2")
    trend = describe_trend(falling, Unit.MEGOHM, at_least=Decimal(1), next_visit_on=date(2026, 3, 1))
    assert trend is not None and trend.warning
    assert trend.slope < 0


def test_a_trend_away_from_the_limit_never_warns() -> None:
    trend = describe_trend(history("0.13", "0.12", "0.11", "0.1"), Unit.OHM, at_most=Decimal("0.139"))
    assert trend is not None
    assert (trend.warning, trend.meets_on) == (False, None)
    assert trend.sentence.endswith("not towards the limit.")


def test_too_few_readings_make_no_trend() -> None:
    assert describe_trend(history("0.1", "0.2", "0.3"), Unit.OHM, at_most=Decimal("0.139")) is None
    same_day = [(date(2025, 1, 1), Decimal("0.1"))] * 5
    assert describe_trend(same_day, Unit.OHM, at_most=Decimal("0.139")) is None
    with pytest.raises(ValueError, match="two days"):
        number_slopes([Decimal(0)] * 3, [Decimal(1)] * 3)


def test_one_wild_reading_does_not_turn_the_line() -> None:
    calm = describe_trend(history("0.10", "0.10", "0.60", "0.10", "0.10", "0.10"), Unit.OHM, at_most=Decimal("0.139"))
    assert calm is not None
    assert calm.slope == 0


def test_readings_that_scatter_do_not_warn() -> None:
    """The line meets the limit, but its interval holds slopes both ways: nothing is known about where it goes."""
    trend = describe_trend(
        history("0.10", "0.13", "0.11", "0.135"), Unit.OHM, at_most=Decimal("0.139"), next_visit_on=date(2026, 3, 1)
    )
    assert trend is not None and trend.meets_on is not None and trend.meets_on < date(2026, 3, 1)
    assert (trend.sure, trend.warning) == (False, False)
    assert "scatter too much" in trend.sentence


def test_the_line_lies_within_its_range_and_turns_about_its_middle() -> None:
    trend = describe_trend(history("0.10", "0.11", "0.13", "0.13"), Unit.OHM, at_most=Decimal("0.139"))
    assert trend is not None
    for year in range(2020, 2030):
        low, high = trend.range_on(date(year, 1, 1))
        assert low <= trend.value_on(date(year, 1, 1)) <= high
    narrow, wide = (high - low for low, high in map(trend.range_on, (date(2023, 9, 1), date(2029, 9, 1))))
    assert narrow < wide


values = st.lists(st.decimals("0.01", "0.2", places=2), min_size=4, max_size=9)


@given(values, st.decimals("0.01", "0.3", places=2))
def test_a_lower_limit_is_met_no_later(readings: list[Decimal], limit: Decimal) -> None:
    taken = history(*map(str, readings))
    near = describe_trend(taken, Unit.OHM, at_most=limit)
    far = describe_trend(taken, Unit.OHM, at_most=limit + Decimal("0.05"))
    assert near is not None and far is not None
    assert near.low <= near.slope <= near.high
    if far.meets_on is not None:
        assert near.meets_on is not None and near.meets_on <= far.meets_on


@given(values, st.randoms())
def test_the_order_in_which_readings_come_does_not_matter(readings: list[Decimal], luck: Random) -> None:
    taken = history(*map(str, readings))
    mixed = list(taken)
    luck.shuffle(mixed)
    assert describe_trend(taken, Unit.OHM, at_most=Decimal("0.2")) == describe_trend(
        mixed, Unit.OHM, at_most=Decimal("0.2")
    )
