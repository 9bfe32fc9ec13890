"""What the maps of the worked cases share: items, readings and answers of the machine interface."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from app.rules.cases import judge_case

Json = dict[str, Any]


def number(value: object) -> Decimal:
    return Decimal(str(value))


def item_of(inputs: Json, **more: object) -> Json:
    """The item of the machine interface for a case's inputs."""
    item: Json = {
        "kind": "appliance",
        "construction": str(inputs.get("equipment_class", "I")),
        "use": "portable",
        **more,
    }
    if "cord_csa_mm2" in inputs:
        item["cord"] = {"csa_mm2": str(inputs["cord_csa_mm2"]), "length_m": str(inputs["cord_length_m"])}
    if inputs.get("heating"):
        item["heating"] = True
    if "rated_kW" in inputs:
        item["rated_power_w"] = f"{number(inputs['rated_kW']) * 1000:f}"
    return item


def judge(rulebook: str, item: Json, *readings: Json, **more: object) -> Json:
    case = {"id": "a", "rulebook": rulebook, "item": item, "readings": list(readings), "partial": True, **more}
    return judge_case(case)


def reading(check: str, value: object, unit: str, **more: object) -> Json:
    return {"check": check, "value": str(value), "unit": unit, **more}


def only(answer: Json) -> Json:
    (check,) = answer["checks"]
    assert isinstance(check, dict)
    return check


def same(found: object, expected: object, places: int = 4) -> None:
    step = Decimal(1).scaleb(-places)
    assert number(found).quantize(step, ROUND_HALF_UP) == number(expected).quantize(step, ROUND_HALF_UP)
