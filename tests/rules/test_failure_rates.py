"""Binomial bounds against SciPy 1.17.1 (scipy.stats.beta.ppf; Wilson by binomtest(...).proportion_ci); the German
2 % rule after DGUV Vorschrift 3, table 1B.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.equipment import Environment
from app.rules.failure_rates import (
    AREAS,
    check_two_percent,
    judge_failure_rate,
    limit_failure_probability,
    list_group_rates,
    number_failure_bounds,
    number_wilson_bounds,
)

# failed, tested, exact low, exact high (95 %), one-sided upper (95 %), Wilson low, Wilson high
SCIPY = [
    (0, 41, 0, 0.086043836294, 0.0704611172702, 0, 0.0856675701844),
    (1, 50, 0.000506227983041, 0.106469545711, 0.0913981307197, 0.00353925927165, 0.104954435896),
    (3, 400, 0.00154935894991, 0.0217606685144, 0.0192692292831, 0.00255388919525, 0.021815720724),
    (5, 200, 0.00816616619084, 0.0573743511268, 0.0518433391203, 0.0107247196518, 0.0571783404066),
    (0, 150, 0, 0.0242925971661, 0.0197734381645, 0, 0.0249702443681),
    (41, 41, 0.913956163706, 1, 1, 0.914332429816, 1),
    (7, 12, 0.276669685682, 0.848347770192, 0.818975242758, 0.31951131255, 0.806739686341),
    (0, 1, 0, 0.975, 0.95, 0, 0.793450685623),
    (120, 4000, 0.0249342082938, 0.0357667422474, 0.0348247440462, 0.0251478123697, 0.0357540643226),
    (2, 3, 0.0942993240502, 0.99159624134, 0.983047572492, 0.207659600802, 0.93850805528),
]  # fmt: skip


@pytest.mark.parametrize(("failed", "tested", "low", "high", "most", "wilson_low", "wilson_high"), SCIPY)
def test_bounds_against_scipy(
    failed: int, tested: int, low: float, high: float, most: float, wilson_low: float, wilson_high: float
) -> None:
    assert number_failure_bounds(failed, tested) == pytest.approx((low, high), abs=1e-10)
    assert limit_failure_probability(failed, tested) == pytest.approx(most, abs=1e-10)
    assert number_wilson_bounds(failed, tested) == pytest.approx((wilson_low, wilson_high), abs=1e-10)


def test_bounds_against_a_published_example() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.2: 4 of 20 defective, 90 %: 0.071354 to 0.401029."""
    assert number_failure_bounds(4, 20, 0.90) == pytest.approx((0.071354, 0.401029), abs=1e-6)


@pytest.mark.parametrize(("tested", "percent"), [(59, 5), (149, 2), (299, 1)])
def test_how_many_without_a_failure_support_a_rate(tested: int, percent: int) -> None:
    """The success-run theorem: the fewest tests without a failure for 95 % confidence that a rate is below 5, 2, 1 %
    (59 and 299 stand in every table of it, e.g. Natrella, NBS Handbook 91, 1963; 149 by its formula).
    """
    assert limit_failure_probability(0, tested) < percent / 100 < limit_failure_probability(0, tested - 1)


@pytest.mark.parametrize("tested", [50, 100, 1000])
def test_the_rule_of_three(tested: int) -> None:
    """Hanley and Lippman-Hand, JAMA 249 (1983): without a failure the upper 95 % bound is about 3/n, and never more."""
    assert 0.95 * 3 / tested < limit_failure_probability(0, tested) <= 3 / tested


@given(st.integers(1, 400), st.data())
def test_bounds_solve_the_binomial_equations(tested: int, data: st.DataObject) -> None:
    """Clopper and Pearson's own definition (Biometrika 26, 1934): each tail holds 2.5 %."""
    failed = data.draw(st.integers(0, tested))
    low, high = number_failure_bounds(failed, tested)

    def at_most(k: int, p: float) -> float:
        return math.fsum(math.comb(tested, i) * p**i * (1 - p) ** (tested - i) for i in range(k + 1))

    if failed < tested:
        assert at_most(failed, high) == pytest.approx(0.025, rel=1e-6)
    if failed:
        assert 1 - at_most(failed - 1, low) == pytest.approx(0.025, rel=1e-6)


@given(st.integers(1, 400), st.data())
def test_one_more_failure_never_supports_more(tested: int, data: st.DataObject) -> None:
    failed = data.draw(st.integers(0, tested - 1))
    fewer, more = judge_failure_rate(failed, tested), judge_failure_rate(failed + 1, tested)
    assert fewer.at_most <= more.at_most
    assert fewer.supports_longer >= more.supports_longer
    assert fewer.supports_longer == (fewer.at_most < 2)


@pytest.mark.parametrize(
    ("environment", "most"), [("office", 24), ("construction", 12), ("heavy-industrial", 12), ("school", None)]
)
def test_the_german_ceiling_by_place(environment: str, most: int | None) -> None:
    """DGUV Vorschrift 3, table 1B: a year on sites, in production and workshops, two in offices; none for schools."""
    rule = check_two_percent(1, 100, AREAS.get(Environment(environment)))
    assert (rule.may_extend, rule.most_months) == (True, most)
    assert check_two_percent(2, 100, AREAS.get(Environment(environment))).most_months is None


@given(st.integers(1, 400), st.data())
def test_a_bound_lies_around_the_rate_and_tightens_with_more_items(tested: int, data: st.DataObject) -> None:
    failed = data.draw(st.integers(0, tested))
    low, high = number_failure_bounds(failed, tested)
    assert low <= failed / tested <= high
    more_low, more_high = number_failure_bounds(failed * 4, tested * 4)
    assert more_high - more_low <= high - low + 1e-12


@pytest.mark.parametrize(
    ("failed", "tested", "bound", "says"),
    [
        (0, 41, "7.0", "too few to lengthen"),
        (0, 150, "1.98", "below 2 %, so a longer interval can be considered"),
        (0, 149, "1.99", "below 2 %, so a longer interval can be considered"),
        (0, 148, "2.004", "too few to lengthen"),
        (120, 4000, "3.5", "clearly above 2 %: look for the causes and consider a shorter interval"),
        (1, 50, "9.1", "no reason to lengthen"),
    ],
)
def test_the_answer_is_a_sentence(failed: int, tested: int, bound: str, says: str) -> None:
    told = f"{failed} of {tested} failed; the one-sided 95 % upper bound is {bound} %: {says}."
    assert judge_failure_rate(failed, tested).sentence == told


@pytest.mark.parametrize(
    ("failed", "tested", "told"),
    [
        (1, 1, "1 of 1 failed; the 95 % interval begins at 2.5 %: a single item says little"),
        (2, 2, "2 of 2 failed; the 95 % interval begins at 15.8 %: clearly above 2 %"),
    ],
)
def test_where_all_failed_no_upper_bound_is_told(failed: int, tested: int, told: str) -> None:
    """0.025 and the root of 0.025: Clopper and Pearson, closed form."""
    assert judge_failure_rate(failed, tested).sentence.startswith(told)


@given(st.integers(1, 3000), st.data())
def test_a_rate_is_told_on_the_side_on_which_it_lies(tested: int, data: st.DataObject) -> None:
    failed = data.draw(st.integers(0, tested))
    rate, rule = judge_failure_rate(failed, tested), check_two_percent(failed, tested)
    shown = [float(text.removesuffix(" %")) for text in (rate.percent_text, rate.at_most_text, rule.percent_text)]
    for text, exact in zip(shown, (100 * failed / tested, rate.at_most, 100 * failed / tested), strict=True):
        assert (text < 2, text > 2, text == 0, text == 100) == (exact < 2, exact > 2, exact == 0, exact == 100)


@pytest.mark.parametrize(
    ("failed", "tested", "says"),
    [
        (0, 1, "may be lengthened (German rule, DGUV Vorschrift 3). Small counts mislead: the exact one-sided 95 % "
         "upper bound is 95.0 %."),
        (1, 200, "Small counts mislead: the exact one-sided 95 % upper bound is 2.3 %."),
        (3, 400, "(German rule, DGUV Vorschrift 3). The exact one-sided 95 % upper bound is 1.9 %."),
    ],
)  # fmt: skip
def test_the_german_rule_stands_beside_the_exact_bound(failed: int, tested: int, says: str) -> None:
    """With 1 of 200, 2.35 % leaves 0.9765^200 + 200 × 0.0235 × 0.9765^199 = 5 %; the others stand in SCIPY above."""
    assert check_two_percent(failed, tested).sentence.endswith(says)


@pytest.mark.parametrize(("failed", "tested"), [(0, 0), (5, 4), (-1, 4)])
def test_impossible_counts_are_refused(failed: int, tested: int) -> None:
    with pytest.raises(ValueError, match="At least one"):
        number_failure_bounds(failed, tested)


def test_one_group_may_be_counted_alone() -> None:
    assert list_group_rates([("office", 1, 300)])[2] is True
