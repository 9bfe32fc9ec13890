"""How the worked cases about intervals, failure rates, decision rules and instruments map to their rules."""

from datetime import date
from decimal import Decimal

import pytest

from app.rules.decisions import (
    Band,
    DecisionRule,
    judge_value,
    limit_by_guard_factor,
    number_conformance,
    number_false_accept,
)
from app.rules.equipment import Construction, Environment, ItemFacts, Supply, Use
from app.rules.failure_rates import Area, check_two_percent, list_group_rates, total_failures
from app.rules.intervals import next_due, suggest_interval
from app.rules.quantities import Bound
from app.rules.risks import total_risk_points
from app.rules.uncertainties import limit_with_operating_uncertainty, number_uncertainty
from tests.rules.case_tools import Json, item_of, judge, number, only, reading, same


def map_low_risk(case: Json) -> None:
    expected = case["expected"]
    it = "computer" in case["inputs"]["item"]
    item = ItemFacts(construction=Construction.CLASS_I, use=Use.IT if it else Use.PORTABLE)
    advice = suggest_interval(item, Environment(case["inputs"]["environment"]))
    assert (advice.user_check != "none") is expected["user_check"]
    assert list(advice.visual_months or ()) == expected["formal_visual_months"]
    assert advice.test_months is not None
    if "combined_test_months_max" in expected:
        assert advice.test_months[1] == expected["combined_test_months_max"]
    else:
        assert list(advice.test_months) == expected["combined_test_months"]


def map_construction(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    supply = Supply.CENTRE_TAPPED_110 if inputs["voltage"] == 110 else Supply.SINGLE_230
    advice = suggest_interval(ItemFacts(supply=supply, use=Use.HAND_HELD), Environment.CONSTRUCTION)
    assert advice.user_check == expected["user_check"]
    assert advice.visual_months == (1, 1), expected["formal_visual"]
    assert advice.before_first_use, expected["combined"]
    due = next_due(date.fromisoformat(inputs["first_use_on_site"]), advice.months)
    assert due == date.fromisoformat(expected["next_combined_due"])


def map_two_percent(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    area = Area(inputs["area"]) if "area" in inputs else None
    rule = check_two_percent(inputs["failed"], inputs["tested"], area)
    assert rule.percent == number(expected["quota_percent"])
    assert rule.below is expected["below_2_percent"]
    assert rule.may_extend is expected.get("may_extend", rule.may_extend)
    assert rule.most_months == expected.get("max_months", rule.most_months)


def map_groups(case: Json) -> None:
    expected = case["expected"]
    groups = [(group["area"], group["failed"], group["tested"]) for group in case["inputs"]["groups"]]
    rates, pooled, may_pool = list_group_rates(groups)
    assert rates == {name: number(expected[f"{name}_percent"]) for name, _, _ in groups}
    assert pooled == number(expected["pooled_percent"])
    assert may_pool is expected["use_pooled"]


def map_thrown_out(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    failed = total_failures(inputs["measured_fail"], inputs["discarded_at_visual"])
    assert failed == expected["failed"]
    assert check_two_percent(failed, inputs["tested_including_discarded"]).percent == number(expected["quota_percent"])


def map_risk_points(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    found = total_risk_points(
        wet=inputs["wet_or_uses_water"],
        flexed=inputs["flexing_or_harsh_cord"],
        heats_or_has_motor=inputs["heating_or_motor"],
    )
    assert (found.points, found.group) == (expected["points"], expected["group"])


def map_decision(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    if "spec" in inputs:
        low, high = (number(each) for each in inputs["spec"])
        band = Band(low, high, number(inputs["guard_band"]))
        assert [band.accept_at_least, band.accept_at_most] == [number(each) for each in expected["acceptance"]]
        outcome = judge_value(number(inputs["measured"]), Bound.EXACT, band, DecisionRule.FOUR_WAY)
        assert outcome.value.startswith(expected["verdict"])
        return
    limit, upper = number(inputs["limit"]), inputs["side"] == "upper"
    assert inputs["guard_band"] == "w=U"
    band = Band(None if upper else limit, limit if upper else None, number(inputs["U_k2"]))
    accepted = band.accept_at_most if upper else band.accept_at_least
    assert accepted == number(expected["acceptance_limit"])
    value = number(inputs["measured"])
    told = {"simple": "simple", "guard-band": "binary_guarded", "four-way": "non_binary"}
    for rule in DecisionRule:
        found = judge_value(value, Bound.EXACT, band, rule)
        assert found.value.replace("-", "_") == expected[told[rule.value]]
    at_most, at_least = (limit, None) if upper else (None, limit)
    sure = number_conformance(value, number(inputs["U_k2"]) / 2, at_most=at_most, at_least=at_least)
    same(sure, expected["conformance_probability"])


def map_decision_through_interface(case: Json) -> None:
    """The cases about 0.139 Ω and 1 MΩ are those of a real item, so they pass through the whole interface too."""
    map_decision(case)
    inputs, expected = case["inputs"], case["expected"]
    if number(inputs.get("limit", 0)) == Decimal("0.139"):
        item = item_of({"equipment_class": "I", "cord_csa_mm2": "0.75", "cord_length_m": "1.5"})
        measured = reading("protective-conductor-resistance", inputs["measured"], "ohm")
    elif number(inputs.get("limit", 0)) == 1:
        item, measured = item_of({}), reading("insulation-resistance", inputs["measured"], "Mohm")
    else:
        return
    told = {"simple": "simple", "guard-band": "binary_guarded", "four-way": "non_binary"}
    for rule, key in told.items():
        decision = {"rule": rule, "expanded_uncertainty": str(inputs["U_k2"])}
        check = only(judge("uk-2012", item, measured, decision=decision))
        assert check["outcome"].replace("-", "_") == expected[key]
        same(check["conformance_probability"], expected["conformance_probability"])
        if rule != "simple":
            side = "at_most" if inputs["side"] == "upper" else "at_least"
            assert number(check["acceptance"][side]) == number(expected["acceptance_limit"])


def map_risk_of_rule(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    risk = number_false_accept(float(inputs["w_over_U"]), float(inputs["k"]))
    assert risk == pytest.approx(float(expected["worst_case_pfa"]), rel=3e-3)
    assert risk <= float(expected["quoted_upper_bound"])


def map_specification(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    assert inputs["spec"] == "2 % of reading + 5 digits"
    value, digit = number(inputs["reading_ohm"]), number(inputs["digit_ohm"])
    found = number_uncertainty(value, Decimal(2), Decimal(5), digit)
    assert found == number(expected["uncertainty_ohm"])
    assert found / value * 100 == number(expected["relative_percent"])


def map_operating_uncertainty(case: Json) -> None:
    inputs = case["inputs"]
    relative, upper = number(inputs["relative_of_reading"]), inputs["side"] == "upper"
    found = limit_with_operating_uncertainty(number(inputs["limit"]), relative, upper=upper)
    same(found, case["expected"].get("max_reading", case["expected"].get("min_reading")))


def map_guard_factor(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    found = limit_by_guard_factor(
        number(inputs["limit"]), number(inputs["u"]), number(expected["factor"]), upper=inputs["side"] == "upper"
    )
    same(found, expected["acceptance_limit"])
