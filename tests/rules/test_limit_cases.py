"""Every worked case of cases_limits.json, each mapped to the machine interface or to the rule that it is about.

The published source of each case stands beside it in that file, with its confidence; what a few of them leave to
memory is marked there too.
"""

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from tests.rules.case_tools import Json, judge, reading
from tests.rules.maps_of_evidence import (
    map_construction,
    map_decision_through_interface,
    map_groups,
    map_guard_factor,
    map_low_risk,
    map_operating_uncertainty,
    map_risk_of_rule,
    map_risk_points,
    map_specification,
    map_thrown_out,
    map_two_percent,
)
from tests.rules.maps_of_leads import (
    map_drum,
    map_fuse_and_cord,
    map_fuse_power,
    map_fuse_rule,
    map_lead_length,
    map_lead_loop,
    map_lead_plug,
    map_smallest_cord,
)
from tests.rules.maps_of_readings import (
    map_both_phases,
    map_disconnection,
    map_earth_en,
    map_earth_en_calculated,
    map_earth_test_current,
    map_earth_uk,
    map_earth_warm,
    map_insulation,
    map_insulation_fallback,
    map_insulation_voltage,
    map_leakage,
    map_microwave,
    map_trip_current_type_a,
    map_trip_currents,
    map_trip_time,
)

TEXT = Path(__file__).with_name("cases_limits.json").read_text("utf-8")
# parse_float keeps 0.139 as it is written: no binary fraction comes near a limit.
CASES: list[Json] = json.loads(TEXT, parse_float=Decimal)["cases"]

OUTSIDE = {
    "EC-PROD-01": "factory production test (EN 50106)",
    "LK-PROD-01": "type and production test (EN 60335-1, 13.2)",
    "LK-AU-01": "Australia and New Zealand (AS/NZS 3760)",
    "RCD-17": "New Zealand (Electricity (Safety) Regulations)",
    "IV-13": "Australia and New Zealand (AS/NZS 3760)",
}


MAPS: dict[str, Callable[[Json], None]] = {
    "earth_continuity_uk": map_earth_uk,
    "earth_continuity_uk_temperature": map_earth_warm,
    "earth_test_current_uk": map_earth_test_current,
    "earth_continuity_en": map_earth_en,
    "earth_continuity_en_over_1_5mm2": map_earth_en_calculated,
    "insulation_uk": map_insulation("uk-2012"),
    "insulation_de": map_insulation("en-50699"),
    "insulation_de_fallback": map_insulation_fallback,
    "insulation_voltage_choice": map_insulation_voltage,
    "leakage_uk_4th": map_leakage("uk-2012"),
    "leakage_uk_4th_and_60335_13_2": map_leakage("uk-2012"),
    "leakage_uk_5th": map_leakage("uk-2020"),
    "leakage_de_touch": map_leakage("en-50699"),
    "leakage_de_protective_conductor": map_leakage("en-50699"),
    "rcd_time": map_trip_time,
    "rcd_currents": map_trip_currents,
    "rcd_vs_disconnection_time": map_disconnection,
    "rcd_trip_current_type_A": map_trip_current_type_a,
    "rcd_both_polarities": map_both_phases,
    "fuse_700W_rule": map_fuse_rule,
    "fuse_vs_cord": map_fuse_and_cord,
    "fuse_power_limit": map_fuse_power,
    "extension_length": map_lead_length,
    "extension_plug": map_lead_plug,
    "extension_loop": map_lead_loop,
    "drum_derating": map_drum,
    "min_cord_csa_60335_1": map_smallest_cord,
    "interval_hse_low_risk": map_low_risk,
    "interval_hse_construction": map_construction,
    "failure_quota": map_two_percent,
    "failure_quota_de": map_two_percent,
    "failure_quota_de_groups": map_groups,
    "failure_quota_de_visual": map_thrown_out,
    "risk_points_training": map_risk_points,
    "microwave_leakage": map_microwave,
    "decision_rule": map_decision_through_interface,
    "specific_risk": map_risk_of_rule,
    "instrument_spec": map_specification,
    "operating_uncertainty_30pct": map_operating_uncertainty,
    "guard_factor_eurachem": map_guard_factor,
}


@pytest.mark.parametrize(
    "case", [case for case in CASES if case["id"] not in OUTSIDE], ids=lambda case: str(case["id"])
)
def test_a_worked_case_gives_what_its_source_says(case: Json) -> None:
    MAPS[case["topic"]](case)


def test_only_other_countries_and_factory_tests_are_left_out() -> None:
    left_out = {case["id"] for case in CASES if case["topic"] not in MAPS}
    assert left_out == set(OUTSIDE)


def test_a_reading_can_pass_one_rulebook_and_fail_another() -> None:
    """The traps named with the cases: a 2 kW heater at 0.5 MΩ, Class II at 0.3 mA (sources S15 and S20)."""
    heater = {"kind": "appliance", "construction": "I", "use": "stationary", "heating": True, "rated_power_w": "2000"}
    low = reading("insulation-resistance", "0.5", "Mohm")
    assert [judge(book, heater, low)["verdict"] for book in ("uk-2012", "en-50699")] == ["fail", "pass"]
    double = {"kind": "appliance", "construction": "II", "use": "portable"}
    touch = reading("touch-current", "0.3", "mA")
    verdicts = [judge(book, double, touch)["verdict"] for book in ("uk-2012", "uk-2020", "en-50699")]
    assert verdicts == ["fail", "pass", "pass"]
