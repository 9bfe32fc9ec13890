"""How the worked cases about measured limits map to the machine interface and to the rules of limits."""

from collections.abc import Callable
from decimal import Decimal

from app.rules.checks import suggest_insulation_volts
from app.rules.conductors import limit_cord_resistance
from app.rules.equipment import Cord, ItemFacts
from app.rules.fuses import suggest_earth_test_current
from app.rules.rcds import list_test_currents, may_disconnect, may_trip_at
from tests.rules.case_tools import Json, item_of, judge, number, only, reading, same


def earth(rulebook: str, case: Json, **more: object) -> Json:
    inputs = case["inputs"]
    item = item_of(inputs)
    if "supply" in inputs:
        item |= {"cord": None, "use": "fixed"}
    return only(
        judge(rulebook, item, reading("protective-conductor-resistance", inputs["measured_ohm"], "ohm"), **more)
    )


def map_earth_uk(case: Json) -> None:
    for rulebook in ("uk-2012", "uk-2020"):
        check = earth(rulebook, case)
        same(check["limit"]["at_most"], case["expected"]["limit_ohm"])
        assert check["outcome"] == case["expected"]["verdict"]
    if "cord_r_ohm" in case["expected"]:
        inputs = case["inputs"]
        cord = limit_cord_resistance(Cord(number(inputs["cord_csa_mm2"]), number(inputs["cord_length_m"])))
        assert cord is not None
        same(cord.ohms, case["expected"]["cord_r_ohm"])


def map_earth_warm(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    warm = number(inputs["conductor_temp_C"])
    cord = limit_cord_resistance(Cord(number(inputs["cord_csa_mm2"]), number(inputs["cord_length_m"])), warm)
    assert cord is not None
    same(cord.per_metre * 1000, expected["mohm_per_m_at_temp"], 3)
    same(cord.ohms, expected["cord_r_ohm"])
    measured = reading("protective-conductor-resistance", "0.1", "ohm", conductor_c=str(warm))
    same(only(judge("uk-2012", item_of(inputs), measured))["limit"]["at_most"], expected["limit_ohm"])


def map_earth_test_current(case: Json) -> None:
    fuse = number(case["inputs"]["fuse_A"])
    assert fuse * Decimal("1.5") == number(case["expected"]["computed_A"])
    assert suggest_earth_test_current(fuse) == number(case["expected"]["applied_A"])


def map_earth_en(case: Json) -> None:
    check = earth("en-50699", case, settings={"step-rounding": "started"})
    assert check == earth("en-50699", case), "a started step counts where nothing is said"
    same(check["limit"]["at_most"], case["expected"]["limit_ohm"])
    assert check["outcome"] == case["expected"]["verdict"]
    if case["id"] == "EC-EN-09":
        assert earth("en-50699", case, settings={"step-rounding": "whole"})["outcome"] == "fail"


def map_earth_en_calculated(case: Json) -> None:
    expected = case["expected"]
    for setting, ending in (("without", "conductor_only"), ("with", "plus_0_1")):
        check = earth("en-50699", case, settings={"contact-allowance": setting})
        same(check["limit"]["at_most"], expected[f"limit_if_{ending}_ohm"])
        assert check["outcome"] == expected[f"verdict_{ending}"]


def map_insulation(rulebook: str) -> Callable[[Json], None]:
    def judged(case: Json) -> None:
        measured = reading("insulation-resistance", case["inputs"]["measured_Mohm"], "Mohm")
        check = only(judge(rulebook, item_of(case["inputs"]), measured))
        assert number(check["limit"]["at_least"]) == number(case["expected"]["limit_Mohm"])
        assert check["outcome"] == case["expected"]["verdict"]

    return judged


def map_insulation_fallback(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    item = item_of(inputs)
    insulation = reading("insulation-resistance", inputs["measured_Mohm"], "Mohm")
    current = reading("protective-conductor-current", inputs["protective_conductor_current_mA"], "mA")
    alone = only(judge("en-50699", item, insulation))
    assert number(alone["limit"]["at_least"]) == number(expected["insulation_limit_Mohm"])
    assert (alone["outcome"] == "pass") is expected["insulation_met"]
    measured = only(judge("en-50699", item, current))
    assert number(measured["limit"]["at_most"]) == number(expected["pe_current_limit_mA"])
    assert (measured["outcome"] == "pass") is expected["pe_current_met"]
    both = judge("en-50699", item, insulation, current)
    assert expected["verdict"] == "pass_by_fallback"
    assert both["verdict"] == "pass"
    assert both["checks"][0]["outcome"] == "conditional-pass"
    assert "by the protective conductor current, which decides here" in both["checks"][0]["sentence"]


def map_insulation_voltage(case: Json) -> None:
    item = ItemFacts(sensitive=case["inputs"]["embedded_overvoltage_suppressor"])
    assert suggest_insulation_volts(item) == case["expected"]["test_voltage_V_dc"]


def map_leakage(rulebook: str) -> Callable[[Json], None]:
    def judged(case: Json) -> None:
        inputs = case["inputs"]
        kind = str(inputs.get("type", "portable"))
        item = item_of(inputs, use="hand-held" if kind == "handheld" else kind.split()[0])
        if "heating" in kind:
            item["heating"] = True
        name = "protective-conductor-current" if item["construction"] == "I" else "touch-current"
        check = only(judge(rulebook, item, reading(name, inputs["measured_mA"], "mA")))
        assert number(check["limit"]["at_most"]) == number(case["expected"]["limit_mA"])
        assert check["outcome"] == case["expected"]["verdict"]

    return judged


def rcd_item(inputs: Json, product: str) -> Json:
    rcd: Json = {"rated_ma": str(inputs["rated_mA"]), "product": product}
    kind = str(inputs.get("type", "general"))
    rcd["selective"] = kind == "S"
    if kind.startswith("delay"):
        rcd["delay_ms"] = kind.split()[1]
    return {"kind": "portable-rcd", "construction": "II", "rcd": rcd}


def products(standard: str) -> list[str]:
    if standard == "any":
        return ["EN 61008", "EN 61009", "BS 7288", "BS 7071", "BS 4293", "IEC 61540"]
    return ["EN 61008", "EN 61009"] if standard == "EN 61008/61009" else [standard]


def map_trip_time(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    for product in products(inputs["standard"]):
        item = rcd_item(inputs, product)
        measured = reading("rcd-trip-time", inputs["trip_ms"], "ms", multiple=str(inputs["multiple"]), phase_deg=0)
        check = only(judge("uk-2012", item, measured))
        limit = check["limit"] or {}
        assert limit.get("at_most") == (None if expected["max_ms"] is None else str(expected["max_ms"]))
        assert limit.get("at_least") == (None if expected["min_ms"] is None else str(expected["min_ms"]))
        assert check["outcome"] == expected["verdict"]
        currents = list_test_currents(number(inputs["rated_mA"]))
        assert currents[number(inputs["multiple"])] == number(inputs["test_current_mA"])


def map_trip_currents(case: Json) -> None:
    expected = case["expected"]
    currents = list_test_currents(number(case["inputs"]["rated_mA"]))
    assert list(currents.values()) == [expected[key] for key in ("half_mA", "x1_mA", "x2_mA", "x5_mA")]


def map_disconnection(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    measured = reading("rcd-trip-time", inputs["trip_ms"], "ms", multiple=str(inputs["multiple"]), phase_deg=0)
    check = only(judge("uk-2012", rcd_item(inputs, inputs["standard"]), measured))
    assert number(check["limit"]["at_most"]) == expected["product_limit_ms"]
    assert check["outcome"] == expected["product_verdict"]
    circuit = may_disconnect(number(inputs["trip_ms"]), number(inputs["circuit_disconnection_time_s"]))
    assert ("pass" if circuit else "fail") == expected["circuit_verdict"]


def map_trip_current_type_a(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    rated, trip = number(inputs["rated_mA"]), number(inputs["trip_mA"])
    assert trip / rated * 100 == number(expected["percent_of_rated"])
    assert may_trip_at(rated, trip, pulsed=True) is (expected["verdict"] == "pass")
    assert not may_trip_at(rated, rated * (expected["min_percent"] - 1) / 100, pulsed=True)
    assert not may_trip_at(rated, trip, pulsed=False), "the a.c. threshold is another one"


def map_both_phases(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    readings = [
        reading("rcd-trip-time", inputs[f"trip_ms_{phase}deg"], "ms", multiple=str(inputs["multiple"]), phase_deg=phase)
        for phase in (0, 180)
    ]
    check = only(judge("uk-2012", rcd_item(inputs, "EN 61008"), *readings))
    assert check["outcome"] == expected["verdict"]
    assert number(check["limit"]["at_most"]) == expected["max_ms"]
    assert number(check["margin"]) == expected["max_ms"] - expected["governing_ms"]
    assert len(check["readings"]) == 2


def map_microwave(case: Json) -> None:
    inputs, expected = case["inputs"], case["expected"]
    item = {"kind": "microwave-oven", "construction": "I", "use": "portable"}
    check = only(judge("uk-2012", item, reading("microwave-leakage", inputs["measured_mW_per_cm2"], "mW/cm2")))
    assert number(check["limit"]["at_most"]) == expected["limit_W_per_m2"]
    assert number(check["limit"]["at_most"]) - number(check["margin"]) == number(expected["W_per_m2"])
    assert check["outcome"] == expected["verdict"]
