"""Reads the demo's plain files: the firm, its customers, and the equipment types with their usual values."""

import csv
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Supply, Use

FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class DemoType:
    """An equipment type of the demo with the makes its items have."""

    name: str
    facts: ItemFacts
    makes: tuple[str, ...]


def read_toml(name: str) -> dict[str, Any]:
    with (FOLDER / name).open("rb") as file:
        return tomllib.load(file)


def read_types() -> dict[str, DemoType]:
    """The equipment types by name."""
    with (FOLDER / "equipment_types.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: _type_from(row) for row in csv.DictReader(file)}


def _type_from(row: dict[str, str]) -> DemoType:
    size, length = _number(row["csa_mm2"]), _number(row["length_m"])
    # Equipment with a detachable cord and none of its own in the list: the cord is an item by itself.
    cord = Cord(size, length, row["detachable"] == "yes", row["moulded"] == "yes") if size else None
    facts = ItemFacts(
        kind=Kind(row["kind"]),
        construction=Construction(row["construction"]),
        use=Use(row["use"]),
        heating=row["heating"] == "yes",
        rated_power_w=_number(row["power_w"]),
        supply=Supply(row["supply"]) if row["supply"] else Supply.SINGLE_230,
        cord=cord,
        fuse_a=_number(row["fuse_a"]),
        rcd=Rcd(Decimal(row["rcd_ma"]), row["rcd_product"]) if row["rcd_ma"] else None,
        outlets={"multiway-lead": 4, "extension-lead": 1, "rcd-lead": 1, "three-phase-lead": 1}.get(row["kind"], 0),
    )
    return DemoType(row["name"], facts, tuple(make for make in row["makes"].split("|") if make))


def _number(text: str) -> Decimal | None:
    return Decimal(text) if text else None


#: Passwords of a demo are made of these.
WORDS = (
    "alder amber anvil barley beck birch bracken cairn chalk cinder clover copper cotton dale ember fern flint gable "
    "hazel heron ivy juniper kiln larch linen maple marl meadow mill moss oak otter pebble quarry reed rowan sedge "
    "slate sorrel tarn thistle willow"
).split()
