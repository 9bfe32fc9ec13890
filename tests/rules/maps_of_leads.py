"""How the worked cases about fuses, cords, leads and reels map to their rules and to the advice given."""

from app.rules.equipment import Cord, Reel
from app.rules.fuses import check_fuse, limit_fuse_power, suggest_cord_size, suggest_fuse
from app.rules.leads import limit_lead_length, number_loop_resistance, number_reel_factor
from tests.rules.case_tools import Json, judge, number


def map_fuse_rule(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    choice = suggest_fuse(number(inputs["rated_W"]), motor=inputs.get("motor_with_inrush", False))
    assert choice.fuse_a == expected.get("fuse_A", expected.get("fuse_A_rule"))
    assert choice.motor_inrush is ("flag" in expected)


def map_fuse_and_cord(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    length = number(inputs["cord_length_m"]) if "cord_length_m" in inputs else None
    cord = Cord(number(inputs["cord_csa_mm2"]), length, moulded_plug=inputs.get("plug") == "moulded")
    verdict = check_fuse(cord, number(inputs["fuse_A"]))
    assert verdict.cord_rating_a == expected.get("cord_rating_A", expected.get("assigned_A"))
    assert (verdict.answer == "too-large") is (expected["verdict"] == "fail")
    given = {"csa_mm2": str(cord.csa_mm2), "moulded_plug": cord.moulded_plug}
    given |= {"length_m": str(length)} if length is not None else {}
    item = {
        "kind": "appliance",
        "construction": "II",
        "use": "portable",
        "cord": given,
        "fuse_a": str(inputs["fuse_A"]),
    }
    assert judge("uk-2012", item, {"check": "visual", "outcome": "pass"})["verdict"] == expected["verdict"]


def map_fuse_power(case: Json) -> None:
    inputs = case["inputs"]
    assert limit_fuse_power(number(inputs["fuse_A"]), number(inputs["supply_V"])) == case["expected"]["max_W"]


def lead_item(inputs: Json, **more: object) -> Json:
    cord = {"csa_mm2": str(inputs["csa_mm2"]), "length_m": str(inputs.get("length_m", 5)), "moulded_plug": True}
    return {"kind": "extension-lead", "construction": "I", "cord": cord, "fuse_a": "13", **more}


def codes(item: Json) -> list[str]:
    return [advice["code"] for advice in judge("uk-2012", item, {"check": "visual", "outcome": "pass"})["advice"]]


def map_lead_length(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    longest = limit_lead_length(number(inputs["csa_mm2"]))
    assert longest == expected["max_m"]
    rcd = {"rcd": {"rated_ma": "30", "product": "BS 7071"}} if inputs["rcd_30mA"] else {}
    found = codes(lead_item(inputs, **rcd))
    wanted = {"pass": [], "pass_with_RCD": ["lead-long-with-rcd"], "fail": ["lead-too-long"]}
    assert [code for code in found if code.startswith("lead-")] == wanted[expected["verdict"]]


def map_lead_plug(case: Json) -> None:
    assert case["expected"]["verdict"] == "unsuitable_use_BS_EN_60309"
    assert "lead-plug-unsuitable" in codes(lead_item(case["inputs"]))


def map_lead_loop(case: Json) -> None:
    inputs = case["inputs"]
    loop = number_loop_resistance(number(inputs["csa_mm2"]), number(inputs["length_m"]))
    assert loop == number(case["expected"]["r1_plus_r2_ohm"])


def map_drum(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    words = inputs["drum"].split()
    factor = number_reel_factor(Reel(words[0] == "ventilated", words[1] == "radial", inputs["layers"]))
    assert factor == number(expected["factor"])
    assert number(inputs["cord_rating_A"]) * number(expected["factor"]) == number(expected["derated_A"])


def map_smallest_cord(case: Json) -> None:
    found = suggest_cord_size(number(case["inputs"]["rated_current_A"]))
    assert found == (number(case["expected"]["min_csa_mm2"]), case["expected"]["condition"] or "")
