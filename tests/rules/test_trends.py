"""Robust lines against SciPy 1.17.1 (scipy.stats.theilslopes, alpha 0.95) and against every order of few readings."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import permutations
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.horizons import Horizon, next_horizon
from app.rules.quantities import Unit
from app.rules.trends import Measured, describe_trend, number_slopes

# x, y, slope, low, high; the last two have more than thirty points, where both take Kendall's variance.
SCIPY = [
    (("0", "1", "2", "3", "4"), ("0.10", "0.11", "0.105", "0.12", "0.13"), 0.007083333333333334, -0.005, 0.015),
    (("0", "1", "2", "3", "4", "5", "6", "7"), ("10", "12", "9", "14", "13", "15", "15", "17"), 1.0, 1 / 3, 2.0),
    (tuple("0123456789"), tuple("3141592653"), 1 / 3, -0.5, 0.8333333333333334),
    ([str(x) for x in range(36)], [str(7 * x * x % 23 + x // 3) for x in range(36)], 0.38585607940446653, 0.2, 7 / 11),
    (
        [str(x // 2) for x in range(40)],
        [str(Decimal(11 * x % 17) - Decimal(x) / 4) for x in range(40)],
        -0.5544590643274854,
        -1.05,
        -0.25,
    ),
]
LIMIT = Decimal("0.139")


@pytest.mark.parametrize(("xs", "ys", "slope", "low", "high"), SCIPY)
def test_slopes_against_scipy(xs: Sequence[str], ys: Sequence[str], slope: float, low: float, high: float) -> None:
    found = number_slopes([Decimal(x) for x in xs], [Decimal(y) for y in ys])
    assert [float(each) for each in found] == pytest.approx([slope, low, high], abs=1e-12)


# Days, and values that are dealt to them in every order: also with two of one day, and with equal values.
DEALT = [("01234", "01234"), ("012345", "012345"), ("01234", "01124"), ("001223", "012345"), ("001223", "011345")]


@pytest.mark.parametrize(("xs", "ys"), DEALT)
def test_the_interval_holds_the_true_slope_in_19_of_20_orders(xs: str, ys: str) -> None:
    """Values without any trend: 0 is the slope of all orders of them, and the interval misses it in 5 % at most."""
    days = [Decimal(x) for x in xs]
    found = [number_slopes(days, [Decimal(y) for y in order]) for order in permutations(ys)]
    assert all(low <= slope <= high for slope, low, high in found)
    missed = sum(low > 0 or high < 0 for _, low, high in found)
    assert missed * 20 <= len(found)
    assert missed or len(set(ys)) < len(ys) or len(set(xs)) < len(xs)


def history(*values: str, instruments: str = "", every: int = 365) -> list[Measured]:
    """Yearly readings; "> 200" is one beyond the range. instruments has a letter for each reading."""
    return [
        Measured(
            date(2021, 3, 1) + timedelta(days=every * place),
            Decimal(value.strip("<> ")),
            instruments[place : place + 1],
            value[0] in "<>",
        )
        for place, value in enumerate(values)
    ]


def before(day: date, today: date | None = None) -> Horizon:
    return next_horizon(day, today or date(2025, 3, 1))


def test_a_trend_that_meets_the_limit_before_the_next_visit_warns() -> None:
    rising = history("0.09", "0.10", "0.11", "0.12", "0.13")
    near = describe_trend(rising, Unit.OHM, at_most=LIMIT, horizon=before(date(2026, 3, 1)))
    assert near is not None and near.warning
    assert near.meets_on is not None and date(2025, 12, 1) < near.meets_on < date(2026, 3, 1)
    # 0.01 Ω in 365 days is 0.010007 Ω in a year of 365.25: the digits of leap days are not told.
    assert near.sentence == (
        "5 readings, +0.01 Ω a year (95 %: +0.01 to +0.01): reaches the limit about January 2026, "
        "before the next visit: look at it now or come sooner."
    )
    far = describe_trend(rising, Unit.OHM, at_most=Decimal("0.2"), horizon=before(date(2026, 3, 1)))
    assert far is not None and far.sure and not far.warning


def test_an_overdue_visit_and_none_at_all_have_their_horizon() -> None:
    rising = history("0.05", "0.06", "0.08", "0.10", "0.11")  # 2021 to 2025, meets 0.139 in November 2026
    due, today = date(2026, 3, 1), date(2027, 11, 26)
    late = describe_trend(rising, Unit.OHM, at_most=LIMIT, horizon=next_horizon(due, today))
    assert late is not None and late.warning
    assert "would have reached the limit about" in late.sentence and "the next visit is overdue" in late.sentence
    never_due = describe_trend(rising, Unit.OHM, at_most=LIMIT, horizon=next_horizon(None, date(2026, 1, 1)))
    assert never_due is not None and never_due.warning
    assert "within a year; no next visit falls due" in never_due.sentence
    in_time = describe_trend(rising, Unit.OHM, at_most=LIMIT, horizon=next_horizon(due, date(2025, 3, 1)))
    assert in_time is not None and not in_time.warning


# scipy.stats.theilslopes of log10 over 0, 1, 2 ... years of 365.25 days.
POWERS = [
    (("300", "100", "33", "11", "3.7"), -0.4772479873204176, -0.4814860601221125, -0.47319096109123016),
    (
        ("1000", "400", "90", "41", "12", "5", "2.2"),
        -0.45192746210115126,
        -0.5076262484267792,
        -0.38021124171160603,
    ),
]


@pytest.mark.parametrize(("values", "slope", "low", "high"), POWERS)
def test_insulation_is_fitted_by_powers(values: tuple[str, ...], slope: float, low: float, high: float) -> None:
    falling = history(*values, every=1461)
    trend = describe_trend(falling, Unit.MEGOHM, at_least=Decimal(1), by_powers=True)
    assert trend is not None
    found = [float(each) * 4 for each in (trend.slope, trend.low, trend.high)]
    assert found == pytest.approx([slope, low, high], abs=1e-12)


def test_a_line_by_powers_says_per_cent_and_meets_no_day_that_is_past() -> None:
    """A third a year is left: 3.7 MΩ meets 1 MΩ after 1.2 years, and never on a day on which more was measured."""
    falling = history("300", "100", "33", "11", "3.7")
    trend = describe_trend(falling, Unit.MEGOHM, at_least=Decimal(1), by_powers=True, horizon=before(date(2027, 3, 1)))
    assert trend is not None and trend.warning and trend.sure
    assert trend.sentence.startswith("5 readings, −67 % a year (95 %: −67 % to −66 %): reaches the limit about ")
    assert trend.meets_on is not None and date(2026, 4, 1) < trend.meets_on < date(2026, 6, 1)
    assert float(trend.value_on(trend.meets_on)) == pytest.approx(1, rel=0.01)
    assert [float(trend.value_on(each.on)) / float(each.value) for each in falling] == pytest.approx([1] * 5, rel=0.05)
    nothing = [*falling, Measured(date(2026, 3, 1), Decimal(0))]
    assert describe_trend(nothing, Unit.MEGOHM, at_least=Decimal(1), by_powers=True) is None


def test_a_reading_beyond_the_range_that_contradicts_the_line_is_not_thrown_away() -> None:
    """Censored readings have no place on a line of pairs, but may lie on its good side (compare Akritas, Murphy and
    LaValley 1995, who count such pairs by their order).
    """
    values = ("150", "100", "50", "20", "5")
    at_least, horizon = Decimal(1), before(date(2031, 3, 1), date(2028, 3, 1))

    def told(*more: str) -> tuple[bool, str]:
        found = describe_trend(
            history(*more), Unit.MEGOHM, at_least=at_least, by_powers=True, horizon=horizon
        )  # fmt: skip
        assert found is not None
        return found.warning, found.sentence

    assert told(*values)[0]
    warns, sentence = told(*values, "> 200")
    assert not warns
    assert sentence.startswith("5 exact readings of 6,")
    assert "a reading beyond the range of the instrument, in February 2026, lies on the good side of it" in sentence
    # Before all exact ones, where the line stands as high, it says nothing against it.
    assert told("> 200", "> 200", *values)[0]
    low = describe_trend(
        history("0.05", "0.07", "0.09", "0.11", "0.13", "< 0.05"), Unit.OHM, at_most=LIMIT, horizon=horizon
    )
    assert low is not None and not low.sure


def test_a_step_between_two_instruments_alone_is_not_sure() -> None:
    values = ("0.08", "0.081", "0.082", "0.12", "0.121", "0.122")

    def told(instruments: str) -> tuple[bool, str]:
        found = describe_trend(
            history(*values, instruments=instruments), Unit.OHM, at_most=LIMIT, horizon=before(date(2028, 3, 1))
        )
        assert found is not None
        return found.warning, found.sentence

    assert told("") == (True, told("")[1]) and "instrument" not in told("")[1]
    warns, sentence = told("aaabbb")
    assert not warns and "without the step from one instrument to the other it would not show" in sentence
    assert sentence.endswith("The instrument changed in February 2024, from a to b; a step there may be its own.")
    # Two that take turns and both rise are believed.
    rising = history("0.07", "0.08", "0.09", "0.10", "0.11", "0.12", instruments="ababab")
    believed = describe_trend(rising, Unit.OHM, at_most=LIMIT, horizon=before(date(2028, 3, 1)))
    assert believed is not None and believed.warning and "changed 5 times" in believed.sentence


def test_a_trend_away_from_the_limit_never_warns() -> None:
    trend = describe_trend(history("0.13", "0.12", "0.11", "0.1", "0.09"), Unit.OHM, at_most=LIMIT)
    assert trend is not None
    assert (trend.warning, trend.meets_on) == (False, None)
    assert trend.sentence.endswith("not towards the limit.")


def test_too_few_readings_make_no_trend() -> None:
    assert describe_trend(history("0.1", "0.11", "0.12", "0.13"), Unit.OHM, at_most=LIMIT) is None
    assert describe_trend(history(*["0.1"] * 5, every=0), Unit.OHM, at_most=LIMIT) is None
    with pytest.raises(ValueError, match="five days"):
        number_slopes([Decimal(0)] * 3, [Decimal(1)] * 3)
    with pytest.raises(ValueError, match="two days"):
        number_slopes([Decimal(0)] * 31, [Decimal(1)] * 31)


def test_one_wild_reading_does_not_turn_the_line() -> None:
    calm = describe_trend(history("0.10", "0.10", "0.60", "0.10", "0.10", "0.10"), Unit.OHM, at_most=LIMIT)
    assert calm is not None
    assert calm.slope == 0 and not calm.sure


def test_readings_that_scatter_or_stand_still_do_not_warn() -> None:
    """The line meets the limit, but its interval holds slopes both ways: nothing is known about where it goes."""
    horizon = before(date(2027, 3, 1))
    for values in (("0.10", "0.09", "0.13", "0.11", "0.135"), ("0.12", "0.12", "0.125", "0.13", "0.135")):
        trend = describe_trend(history(*values), Unit.OHM, at_most=LIMIT, horizon=horizon)
        assert trend is not None and trend.meets_on is not None and trend.meets_on <= horizon.on
        assert (trend.sure, trend.warning) == (False, False)
        assert "scatter too much" in trend.sentence


def test_the_line_lies_within_its_range_and_turns_about_its_middle() -> None:
    trend = describe_trend(history("0.10", "0.11", "0.13", "0.13", "0.14"), Unit.OHM, at_most=LIMIT)
    assert trend is not None
    for year in range(2020, 2030):
        low, high = trend.range_on(date(year, 1, 1))
        assert low <= trend.value_on(date(year, 1, 1)) <= high
    narrow, wide = (high - low for low, high in map(trend.range_on, (date(2023, 4, 1), date(2029, 9, 1))))
    assert narrow < wide


values = st.lists(st.decimals("0.01", "0.2", places=2), min_size=5, max_size=9)


@given(values, st.decimals("0.01", "0.3", places=2))
def test_a_lower_limit_is_met_no_later(readings: list[Decimal], limit: Decimal) -> None:
    taken = history(*map(str, readings))
    near = describe_trend(taken, Unit.OHM, at_most=limit)
    far = describe_trend(taken, Unit.OHM, at_most=limit + Decimal("0.05"))
    assert near is not None and far is not None
    assert near.low <= near.slope <= near.high
    if far.meets_on is not None:
        assert near.meets_on is not None and near.meets_on <= far.meets_on


@given(values, st.randoms(), st.booleans())
def test_the_order_in_which_readings_come_does_not_matter(
    readings: list[Decimal], luck: Random, by_powers: bool
) -> None:
    taken = history(*map(str, readings))
    mixed = list(taken)
    luck.shuffle(mixed)
    one, other = (
        describe_trend(each, Unit.OHM, at_most=Decimal("0.2"), by_powers=by_powers) for each in (taken, mixed)
    )
    assert one == other
