"""A heater that misses its insulation limit, where the protective conductor current decides (DIN VDE 0701-0702, from
memory).
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.rules.checks import Check
from app.rules.decisions import DecisionRule
from app.rules.entries import Decision
from app.rules.readings import judge_item
from app.rules.verdicts import Outcome, Verdict
from tests.rules.sample_items import CURRENT, EARTH, EN, INSULATION, KETTLE, UK, found


def test_a_heater_that_misses_insulation_may_still_be_measured_in_europe() -> None:
    """DIN VDE 0701-0702, from memory: heating above 3.5 kW is in order when its current is; nothing else is opened."""
    oven = replace(KETTLE, rated_power_w=Decimal(6000), fuse_a=None)
    entries = [found(Check.VISUAL), found(EARTH, "0.2"), found(INSULATION, "0.2")]
    before = judge_item(oven, entries, EN)
    assert (before.verdict, before.missing) == (Verdict.INCOMPLETE, (CURRENT,))
    assert CURRENT not in dict(before.locked)
    assert Check.FUNCTIONAL in dict(before.locked)
    assert judge_item(oven, [*entries, found(CURRENT, "6")], EN).verdict is Verdict.PASS
    assert judge_item(oven, [*entries, found(CURRENT, "6.1")], EN).verdict is Verdict.FAIL
    assert CURRENT in dict(judge_item(oven, entries, UK).locked)
    small = replace(oven, rated_power_w=Decimal(3500))
    assert judge_item(small, [*entries, found(CURRENT, "3")], EN).verdict is Verdict.FAIL
    over = judge_item(oven, [*entries, found(CURRENT, "6.1")], EN)
    assert "energised-after-failure" not in [advice.code for advice in over.advice], "to measure what decides was right"
    assert judge_item(oven, [*entries, found(CURRENT, "> 5")], EN).verdict is Verdict.DECISION
    by_eye = [*entries[:2], found(INSULATION, "fail")]
    assert judge_item(oven, [*by_eye, found(CURRENT, "3")], EN).verdict is Verdict.FAIL, "a person said so"
    no_number = judge_item(oven, [*entries, found(CURRENT, "pass")], EN)
    assert no_number.verdict is Verdict.FAIL, "a current without a number settles nothing"
    assert Check.FUNCTIONAL in dict(
        judge_item(oven, entries, EN, own=(Check.VISUAL, INSULATION, Check.FUNCTIONAL)).locked
    )


@pytest.mark.parametrize("insulation", ["0.1", "0.2", "0.25", "0.3", "0.35", "0.4", "> 0.2", "< 0.35", "< 0.2"])
def test_a_deciding_current_decides_for_every_insulation_alike(insulation: str) -> None:
    """Were it not so, a reading nearer the limit could come out worse than one further away."""
    oven = replace(KETTLE, rated_power_w=Decimal(6000), fuse_a=None)
    rule = Decision(DecisionRule.FOUR_WAY, Decimal("0.1"))
    entries = [found(Check.VISUAL), found(EARTH, "0.1"), found(INSULATION, insulation), found(CURRENT, "3")]
    answer = judge_item(oven, entries, EN, decision=rule)
    assert answer.verdict is Verdict.PASS
    told = next(each for each in answer.checks if each.check is INSULATION)
    assert told.outcome in (Outcome.PASS, Outcome.CONDITIONAL_PASS)
