"""A limit is shown with at most four significant digits, rounded to its strict side; readings are judged by the exact
one. A rule of our own, no source. Limits: 0.1 Ω + cord, UK Code of Practice, 4th edition; 0.00798 Ω/m for 2.5 mm²
(IEC 60228, class 5); EN 50699 as quoted by training pages: length ÷ (56 m/(Ω·mm²) × size) above 1.5 mm².
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.entries import Decision, Entry, judge_entry
from app.rules.equipment import Cord
from app.rules.limits import limit_for, number_spare
from app.rules.quantities import Reading, Unit, describe_bound, number_shown
from app.rules.rulebooks import RULEBOOKS
from app.rules.verdicts import Outcome
from tests.cast import LEAD

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE
VALUES = st.decimals(min_value=0, max_value=10**6, places=6)


@pytest.mark.parametrize(
    ("value", "most", "least"),
    [
        ("0.178571", "0.1785", "0.1786"),
        ("0.139", "0.139", "0.139"),
        ("10.2345", "10.23", "10.24"),
        ("13125.5", "13125", "13126"),
        ("13125", "13125", "13125"),
        ("0.00012345", "0.0001234", "0.0001235"),
        ("0", "0", "0"),
    ],
)
def test_four_significant_digits_on_the_strict_side(value: str, most: str, least: str) -> None:
    assert describe_bound(Decimal(value), upper=True) == most
    assert describe_bound(Decimal(value), upper=False) == least


@given(VALUES, st.booleans())
def test_what_is_shown_is_never_looser_and_hardly_stricter(value: Decimal, upper: bool) -> None:
    shown = number_shown(value, upper=upper)
    assert shown <= value if upper else shown >= value
    assert abs(shown - value) <= value / 1000
    assert number_shown(shown, upper=upper) == shown


@given(VALUES, VALUES)
def test_what_is_told_to_spare_never_contradicts_the_verdict(limit: Decimal, value: Decimal) -> None:
    for margin, bounds in ((limit - value, (None, limit)), (value - limit, (limit, None))):
        spare = number_spare(margin, *bounds)
        assert (spare > 0) == (margin > 0) and (spare < 0) == (margin < 0)


@given(st.decimals(min_value="0.5", max_value=90, places=2), st.sampled_from(sorted(RULEBOOKS)))
def test_a_reading_equal_to_the_limit_that_is_shown_passes(length: Decimal, rulebook: str) -> None:
    item, book = replace(LEAD, cord=Cord(Decimal("2.5"), length)), RULEBOOKS[rulebook]
    limit = limit_for(EARTH, item, book)
    assert limit is not None
    number = limit.text.removeprefix("at most ").removesuffix(" Ω")
    judged = judge_entry(Entry(EARTH, Reading(Decimal(number), Unit.OHM)), item, book)
    assert judged.outcome is Outcome.PASS, limit.text
    assert len(number.replace(".", "").lstrip("0")) <= 4


def test_the_exact_limit_stands_in_the_working_and_the_difference_fits_what_is_shown() -> None:
    item = replace(LEAD, cord=Cord(Decimal("2.5"), Decimal(10)))
    judged = judge_entry(Entry(EARTH, Reading(Decimal("0.08"), Unit.OHM)), item, RULEBOOKS["en-50699"])
    assert judged.sentence == (
        "0.08 Ω, at most 0.07142 Ω (10 m ÷ (56 m/(Ω·mm²) × 2.5 mm²), without an allowance for contacts = 0.071429 Ω): "
        "fail, 0.00858 Ω over."
    )
    assert judged.limit is not None and judged.limit.at_most == Decimal("0.071429"), "other programs get it exactly"
    assert judged.margin == Decimal("-0.008571")
    fine = judge_entry(Entry(EARTH, Reading(Decimal("0.07142"), Unit.OHM)), item, RULEBOOKS["en-50699"])
    assert fine.sentence.endswith(": pass, 0.000009 Ω to spare."), "against the shown limit there is nothing to spare"


def test_what_is_accepted_is_shown_alike() -> None:
    item = replace(LEAD, cord=Cord(Decimal("2.5"), Decimal(30)))
    entry = Entry(EARTH, Reading(Decimal("0.3"), Unit.OHM), uncertainty=Decimal("0.0123456"))
    judged = judge_entry(entry, item, RULEBOOKS["uk-2012"], Decision(DecisionRule.GUARD_BAND))
    assert "at most 0.3394 Ω = 0.1 + 30 m × 0.00798 Ω/m" in judged.sentence
    assert "accepted up to 0.327 Ω with an expanded uncertainty of 0.01235 Ω" in judged.sentence
