"""Binomial bounds against SciPy 1.17.1 (scipy.stats.binomtest(...).proportion_ci and scipy.stats.beta.ppf); the German
2 % rule after DGUV Vorschrift 3, table 1B.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.failure_rates import (
    judge_failure_rate,
    limit_failure_probability,
    list_group_rates,
    number_failure_bounds,
    number_wilson_bounds,
)

# failed, tested, exact low, exact high (95 %), one-sided upper (95 %), Wilson low, Wilson high
SCIPY = [
    (0, 41, 0.0, 0.0860438362940334, 0.07046111727016405, 0.0, 0.08566757018443186),
    (1, 50, 0.0005062279831152354, 0.10646954571150097, 0.09139813071969738, 0.0035392592716462223, 0.10495443589637814),
    (3, 400, 0.0015493589499055267, 0.02176066851441709, 0.019269229283088177, 0.0025538891952499396, 0.021815720724032123),
    (5, 200, 0.00816616619071024, 0.05737435112726713, 0.05184333912029053, 0.010724719651761264, 0.05717834040664198),
    (0, 150, 0.0, 0.02429259616612193, 0.01977343816450844, 0.0, 0.024970244368076596),
    (41, 41, 0.9139561637059666, 1.0, 1.0, 0.9143324298155682, 1.0),
    (7, 12, 0.2766696856821058, 0.8483477701915653, 0.818975242757679, 0.31951131254954973, 0.8067396863412435),
    (0, 1, 0.0, 0.975, 0.95, 0.0, 0.7934506856227626),
    (120, 4000, 0.02493420829420365, 0.035766742247265365, 0.03482474404622742, 0.025147812369685964, 0.035754064322633436),
    (2, 3, 0.09429932405071303, 0.9915962413403874, 0.9830475724915585, 0.20765960080204782, 0.9385080552796038),
]  # fmt: skip


@pytest.mark.parametrize(("failed", "tested", "low", "high", "most", "wilson_low", "wilson_high"), SCIPY)
def test_bounds_against_scipy(
    failed: int, tested: int, low: float, high: float, most: float, wilson_low: float, wilson_high: float
) -> None:
    assert number_failure_bounds(failed, tested) == pytest.approx((low, high), abs=1e-10)
    assert limit_failure_probability(failed, tested) == pytest.approx(most, abs=1e-10)
    assert number_wilson_bounds(failed, tested) == pytest.approx((wilson_low, wilson_high), abs=1e-10)


@given(st.integers(1, 400), st.data())
def test_a_bound_lies_around_the_rate_and_tightens_with_more_items(tested: int, data: st.DataObject) -> None:
    failed = data.draw(st.integers(0, tested))
    low, high = number_failure_bounds(failed, tested)
    assert low <= failed / tested <= high
    more_low, more_high = number_failure_bounds(failed * 4, tested * 4)
    assert more_high - more_low <= high - low + 1e-12


@pytest.mark.parametrize(
    ("failed", "tested", "says"),
    [
        (0, 41, "0 of 41 failed; the one-sided 95 % upper bound is 7.0 %: too few to lengthen."),
        (0, 150, "0 of 150 failed; the one-sided 95 % upper bound is 2.0 %: below 2 %, so a longer interval can be considered."),
        (120, 4000, "120 of 4000 failed; the one-sided 95 % upper bound is 3.5 %: clearly above 2 %: look for the causes and consider a shorter interval."),
        (1, 50, "1 of 50 failed; the one-sided 95 % upper bound is 9.1 %: no reason to lengthen."),
    ],
)  # fmt: skip
def test_the_answer_is_a_sentence(failed: int, tested: int, says: str) -> None:
    assert judge_failure_rate(failed, tested).sentence == says


@pytest.mark.parametrize(("failed", "tested"), [(0, 0), (5, 4), (-1, 4)])
def test_impossible_counts_are_refused(failed: int, tested: int) -> None:
    with pytest.raises(ValueError, match="At least one"):
        number_failure_bounds(failed, tested)


def test_one_group_may_be_counted_alone() -> None:
    assert list_group_rates([("office", 1, 300)])[2] is True
