"""What is told as accepted before a measurement is what the decision rule accepts (ILAC-G8:09/2019, 4.2.2, w = U)."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from app.rules.acceptance import describe_accepted, number_accepted
from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.entries import Decision, Entry, judge_entry
from app.rules.limits import limit_for
from app.rules.quantities import Reading, Unit
from app.rules.uncertainties import MeasuringRange, number_reading_uncertainty
from app.rules.verdicts import Outcome
from tests.rules.sample_items import EARTH, INSULATION, KETTLE, UK

GUARDED = Decision(DecisionRule.GUARD_BAND)


def outcome_of(check: Check, value: Decimal, unit: Unit, ranges: tuple[MeasuringRange, ...]) -> Outcome:
    reading = Reading(value, unit)
    unsure = number_reading_uncertainty(ranges, check, reading)
    return judge_entry(Entry(check, reading, uncertainty=unsure), KETTLE, UK, GUARDED).outcome


@st.composite
def earth_ranges(draw: st.DrawFn) -> tuple[MeasuringRange, ...]:
    """A fine range and a coarser one over it, told for k = 2 or another factor."""
    percent, digits = draw(st.decimals(0, 10, places=1)), draw(st.integers(0, 12))
    k = draw(st.sampled_from(["2", "1.73", "3"]))
    fine = (Decimal(0), Decimal("0.5"), percent, Decimal(digits), Decimal("0.001"), Decimal(0), Decimal(k))
    coarse = (Decimal(0), Decimal(20), percent + 2, Decimal(digits), Decimal("0.01"))
    return MeasuringRange(EARTH, Unit.OHM, *fine), MeasuringRange(EARTH, Unit.OHM, *coarse)


@given(earth_ranges())
def test_the_accepted_reading_passes_and_one_a_little_beyond_does_not(ranges: tuple[MeasuringRange, ...]) -> None:
    limit = limit_for(EARTH, KETTLE, UK)
    assert limit is not None and limit.at_most == Decimal("0.139")
    accepted = number_accepted(limit.at_most, EARTH, ranges, limit, upper=True)
    assert accepted is not None, "the least uncertain range holds every such reading"
    assert outcome_of(EARTH, accepted, Unit.OHM, ranges) is Outcome.PASS
    assert outcome_of(EARTH, accepted + Decimal("0.0002"), Unit.OHM, ranges) is Outcome.FAIL


def test_a_lower_limit_is_told_from_where_it_is_met() -> None:
    """1 MΩ with 10 % and 5 digits of 0.01 MΩ: from 1.05 / 0.9 = 1.1667 MΩ on; the range is told in kΩ."""
    sizes = (Decimal(0), Decimal(20_000), Decimal(10), Decimal(5), Decimal(10))
    ranges = (MeasuringRange(INSULATION, Unit.KILOHM, *sizes),)
    limit = limit_for(INSULATION, KETTLE, UK)
    assert limit is not None
    assert describe_accepted(limit, INSULATION, ranges) == "; accepted from 1.167 MΩ"
    assert outcome_of(INSULATION, Decimal("1.167"), Unit.MEGOHM, ranges) is Outcome.PASS
    assert outcome_of(INSULATION, Decimal("1.166"), Unit.MEGOHM, ranges) is Outcome.FAIL
    assert describe_accepted(limit, INSULATION, ()).startswith("; compared directly")
