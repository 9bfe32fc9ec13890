"""How long the rules take for 10,000 cases, beside reading the same cases as JSON and nothing else."""

import json
import time
from collections.abc import Iterator
from decimal import Decimal

from app.rules.cases import judge_cases

COUNT = 10_000


def _case(number: int) -> dict[str, object]:
    earth, insulation = Decimal(number % 300) / 1000, Decimal(number % 400) / 10
    return {
        "id": str(number),
        "rulebook": ("uk-2012", "uk-2020", "en-50699")[number % 3],
        "item": {
            "kind": "appliance",
            "construction": "I",
            "use": ("hand-held", "portable", "stationary")[number % 3],
            "heating": number % 2 == 0,
            "rated_power_w": str(500 + number % 3000),
            "cord": {"csa_mm2": "0.75", "length_m": str(1 + number % 9), "moulded_plug": True},
            "fuse_a": "13",
        },
        "readings": [
            {"check": "visual", "outcome": "pass"},
            {"check": "protective-conductor-resistance", "value": str(earth), "unit": "ohm"},
            {"check": "insulation-resistance", "value": str(insulation), "unit": "Mohm"},
        ],
    }


def measure() -> Iterator[tuple[str, float]]:
    """Judge the cases, and read them only."""
    text = json.dumps([_case(number) for number in range(COUNT)])
    began = time.perf_counter()
    data = json.loads(text)
    read = time.perf_counter() - began
    yield f"{COUNT:,} cases read as JSON", read
    began = time.perf_counter()
    judge_cases(data)
    judged = time.perf_counter() - began
    yield f"{COUNT:,} cases judged: {judged / read:.0f} times as long", judged
