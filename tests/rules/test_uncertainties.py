"""The uncertainty of an instrument, beside the worked cases. Percent of reading plus digits: German trade journal
(2 % + 5 digits at 0.1 Ω gives 0.007 Ω at 1 mΩ digits, about 0.05 Ω at 10 mΩ digits).
"""

from decimal import Decimal

from app.rules.checks import Check
from app.rules.decisions import RISK, Band, DecisionRule, judge_value
from app.rules.quantities import Bound, Reading, Unit
from app.rules.uncertainties import (
    MeasuringRange,
    limit_with_operating_uncertainty,
    number_reading_uncertainty,
    number_uncertainty,
)
from app.rules.verdicts import Outcome

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE


def measuring(most: str, digit: str) -> MeasuringRange:
    return MeasuringRange(EARTH, Unit.OHM, Decimal(0), Decimal(most), Decimal(2), Decimal(5), Decimal(digit))


def test_coarse_digits_make_a_coarse_reading() -> None:
    assert number_uncertainty(Decimal("0.1"), Decimal(2), Decimal(5), Decimal("0.01")) == Decimal("0.052")


def test_the_finest_range_that_holds_the_reading_counts() -> None:
    ranges = [measuring("2", "0.001"), measuring("20", "0.01")]
    assert number_reading_uncertainty(ranges, EARTH, Reading(Decimal("0.1"), Unit.OHM)) == Decimal("0.007")
    assert number_reading_uncertainty(ranges, EARTH, Reading(Decimal(100), Unit.MILLIOHM)) == Decimal(7)
    assert number_reading_uncertainty(ranges, EARTH, Reading(Decimal(10), Unit.OHM)) == Decimal("0.25")
    assert number_reading_uncertainty(ranges, EARTH, Reading(Decimal(21), Unit.OHM)) is None
    assert number_reading_uncertainty(ranges, Check.INSULATION_RESISTANCE, Reading(Decimal(1), Unit.OHM)) is None


def test_an_instrument_that_may_be_thirty_percent_wrong() -> None:
    """EN 61557-16:2015 allows 30 %: 0.3 Ω is sure up to 0.2308 Ω, 1 MΩ is sure from 1.4286 MΩ (derived)."""
    assert limit_with_operating_uncertainty(Decimal("0.3")) == Decimal("0.230769")
    assert limit_with_operating_uncertainty(Decimal(1), upper=False) == Decimal("1.428571")


def test_equality_passes_at_each_edge_of_the_guard_band() -> None:
    """ILAC-G8:09/2019, 4.2.3: up to TL − w pass, up to TL conditional pass, up to TL + w conditional fail."""
    band = Band(None, Decimal("0.139"), Decimal("0.01"))
    edges = [
        judge_value(Decimal(value), Bound.EXACT, band, DecisionRule.FOUR_WAY) for value in ("0.129", "0.139", "0.149")
    ]
    assert edges == [Outcome.PASS, Outcome.CONDITIONAL_PASS, Outcome.CONDITIONAL_FAIL]
    beyond = judge_value(Decimal("0.1490001"), Bound.EXACT, band, DecisionRule.FOUR_WAY)
    assert beyond is Outcome.FAIL
    assert judge_value(Decimal("0.129"), Bound.EXACT, band, DecisionRule.GUARD_BAND) is Outcome.PASS


def test_each_decision_rule_names_its_risk() -> None:
    """ILAC-G8:09/2019, 4.2.1 to 4.2.3."""
    assert set(RISK) == set(DecisionRule)
    assert [rule.word for rule in DecisionRule][0] == "simple acceptance"
