"""The zones that a tablet compares with agree with the rules that judge what is saved, under every decision rule."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.entries import Decision, Entry, judge_entry
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Use
from app.rules.judging import Judging, list_measured
from app.rules.quantities import Bound, Reading, Unit
from app.rules.rulebooks import RULEBOOKS
from app.rules.uncertainties import MeasuringRange
from app.rules.verdicts import Outcome
from app.rules.zones import Zones, number_zones

KETTLE = ItemFacts(
    Kind.APPLIANCE, Construction.CLASS_I, Use.PORTABLE, heating=True, cord=Cord(Decimal("0.75"), Decimal("1.5"))
)
NO_LENGTH = replace(KETTLE, cord=Cord(Decimal("0.75"), None))
DRILL = replace(KETTLE, construction=Construction.CLASS_II, heating=False)
RANGES = (
    MeasuringRange(
        Check.PROTECTIVE_CONDUCTOR_RESISTANCE,
        Unit.OHM,
        Decimal(0),
        Decimal("0.5"),
        Decimal(5),
        Decimal(4),
        Decimal("0.001"),
    ),
    MeasuringRange(
        Check.PROTECTIVE_CONDUCTOR_RESISTANCE,
        Unit.OHM,
        Decimal("0.5"),
        Decimal(20),
        Decimal(5),
        Decimal(4),
        Decimal("0.01"),
    ),
    MeasuringRange(
        Check.INSULATION_RESISTANCE, Unit.MEGOHM, Decimal(0), Decimal(20), Decimal(10), Decimal(5), Decimal("0.01")
    ),
)
CASES = [
    (check, item)
    for check in (Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.INSULATION_RESISTANCE, Check.TOUCH_CURRENT)
    for item in (KETTLE, NO_LENGTH, DRILL)
]


def judge_by(zones: Zones, value: Decimal, bound: Bound) -> Outcome:
    """What a tablet makes of a number: the whole of what it may stand for lies in one zone, or nothing is said."""
    if zones.always:
        return zones.always
    low, high = zones.pass_at_least, zones.pass_at_most
    below, above = zones.fail_below, zones.fail_above
    if bound is Bound.ABOVE:
        if high is None and (low is None or value >= low):
            return Outcome.PASS
        return Outcome.FAIL if above is not None and value >= above else Outcome.INCONCLUSIVE
    if bound is Bound.BELOW:
        if (low is None or low <= 0) and (high is None or value <= high):
            return Outcome.PASS
        return Outcome.FAIL if below is not None and value <= below else Outcome.INCONCLUSIVE
    if (below is not None and value < below) or (above is not None and value > above):
        return Outcome.FAIL
    inside = (low is None or value >= low) and (high is None or value <= high)
    return Outcome.PASS if inside else Outcome.INCONCLUSIVE


@pytest.mark.parametrize("rulebook", RULEBOOKS.values(), ids=RULEBOOKS)
@pytest.mark.parametrize(("check", "item"), CASES)
@given(
    thousandths=st.integers(0, 25_000),
    bound=st.sampled_from(Bound),
    rule=st.sampled_from(DecisionRule),
)
def test_a_zone_never_says_what_the_rules_do_not(
    rulebook: object, check: Check, item: ItemFacts, thousandths: int, bound: Bound, rule: DecisionRule
) -> None:
    judging = Judging(rulebook, rule, RANGES)  # type: ignore[arg-type]
    zones = number_zones(check, item, judging)
    unit = zones.limit.unit if zones.limit else {"insulation": Unit.MEGOHM}.get(check.value.split("-")[0], Unit.OHM)
    if check is Check.TOUCH_CURRENT:
        unit = Unit.MILLIAMP
    value = Decimal(thousandths) / 1000
    if bound is Bound.BELOW and value == 0:
        return
    entry = list_measured([Entry(check, Reading(value, unit, bound))], judging)[0]
    outcome = judge_entry(entry, item, judging.rulebook, Decision(rule)).outcome
    said = judge_by(zones, value, bound)
    if rule is DecisionRule.SIMPLE or said is not Outcome.INCONCLUSIVE:
        assert said is outcome


def test_a_limit_by_itself_leaves_nothing_to_the_office() -> None:
    zones = number_zones(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, KETTLE, Judging(RULEBOOKS["uk-2012"]))
    # 0.1 Ω + 1.5 m × 0.0260 Ω/m: IEC 60228 class 5, 0.75 mm².
    assert zones.pass_at_most == zones.fail_above == Decimal("0.139")
    assert zones.always is None


def test_a_missing_length_keeps_the_zones_apart() -> None:
    zones = number_zones(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, NO_LENGTH, Judging(RULEBOOKS["uk-2012"]))
    assert zones.pass_at_most is not None
    assert zones.fail_above is not None
    assert zones.pass_at_most < zones.fail_above
    assert "length" in zones.between
