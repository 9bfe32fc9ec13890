"""What the certificate of a visit says beside its numbers: what is wrong, by which limits, how it was measured, what
stood in for what, and what the customer should do about an item that passed.

Limits: 1 MΩ (Class I), 0.1 Ω + cord: UK Code of Practice, 4th edition, as quoted by training pages. Type S at 1 ×: 130
to 500 ms, EN 61008 from switchgear makers' tables. Leads of 1.25 mm² up to 12 m: trade pages after the same Code. Fuse
of a 0.5 mm² cord: 3 A, its table VII.1.
"""

from decimal import Decimal
from typing import Any

from app.actions import certificates, house_limits, items, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.documents.certificate import certificate_from
from app.rules.checks import Check
from app.rules.entries import Entry, Trip
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Supply, Use
from app.rules.house_limits import HouseLimitDetails
from app.rules.items import ItemDetails
from app.rules.points import Way, describe_measured_point
from app.rules.quantities import Reading, Unit
from app.rules.verdicts import Outcome
from app.rules.visits import Method
from app.store.firms import get_firm
from app.store.readings import list_visit_items
from tests.cast import World
from tests.finished_visits import EARTH, INSULATED, INSULATION, LOOKED_AT, WIRED

LEAD_OHMS = Reading(Decimal("0.05"), Unit.OHM)


def both_ways(forward: str, reversed_: str, point: str = "", steady: bool = True) -> list[Entry]:
    """Two readings of one protective conductor, d.c. forward and reversed, with a test lead of 0.05 Ω to subtract."""
    return [
        Entry(EARTH, Reading(Decimal(value), Unit.OHM), point=describe_measured_point(point, way), lead=LEAD_OHMS,
              conductor_c=Decimal(30), steady=steady)
        for value, way in ((forward, Way.FORWARD), (reversed_, Way.REVERSED))
    ]  # fmt: skip


def current(check: Check, value: str, note: str = "") -> Entry:
    return Entry(check, Reading(Decimal(value), Unit.MILLIAMP), note=note)


def cord(size: str, length: str) -> Cord:
    return Cord(Decimal(size), Decimal(length), moulded_plug=True)


THIN = Cord(Decimal("0.5"), Decimal(3), moulded_plug=False)
SITE_LEAD = ItemFacts(
    Kind.EXTENSION_LEAD, supply=Supply.CENTRE_TAPPED_110, cord=cord("1.5", "14"), outlets=1
)  # fmt: skip
SLOW = ItemFacts(Kind.PORTABLE_RCD, Construction.CLASS_II, rcd=Rcd(Decimal(100), selective=True), cord=None)
WORK: dict[str, tuple[ItemFacts, list[Entry]]] = {
    "Yellow cable": (
        SITE_LEAD,
        [
            LOOKED_AT,
            *both_ways("0.2", "0.21", "outlet 1"),
            Entry(Check.POLARITY, outcome=Outcome.FAIL, note="Found at the plug."),
        ],
    ),
    "Safety plug": (
        SLOW,
        [
            LOOKED_AT,
            Entry(Check.RCD_TRIP_TIME, trip=Trip.TRIPPED, multiple=Decimal("0.5"), phase_deg=0),
            Entry(
                Check.RCD_TRIP_TIME, Reading(Decimal(120), Unit.MILLISECOND), multiple=Decimal(1), phase_deg=0
            ),
        ],
    ),
    "Polisher": (
        ItemFacts(cord=cord("1", "12")),
        [LOOKED_AT, *both_ways("0.15", "0.15", "case", steady=False)],
    ),
    "Server": (
        ItemFacts(use=Use.IT, cord=cord("0.75", "2")),
        [LOOKED_AT, *both_ways("0.1", "0.1"), current(Check.PROTECTIVE_CONDUCTOR_CURRENT, "1.9")],
    ),
    "Printer": (
        ItemFacts(use=Use.IT, cord=cord("0.75", "2")),
        [
            LOOKED_AT,
            *both_ways("0.1", "0.11"),
            current(Check.SUBSTITUTE_LEAKAGE_CURRENT, "1.2", "The maker forbids the insulation test."),
        ],
    ),
    "Fan heater": (
        ItemFacts(rated_power_w=Decimal(700), cord=THIN, fuse_a=Decimal(13)),
        [LOOKED_AT, *both_ways("0.11", "0.11"), INSULATED],
    ),
    "Extension lead": (
        ItemFacts(Kind.EXTENSION_LEAD, cord=cord("1.25", "14"), fuse_a=Decimal(13), outlets=1),
        [LOOKED_AT, *both_ways("0.25", "0.25", "outlet 1"), WIRED, INSULATED],
    ),
    "Short lead": (
        ItemFacts(Kind.EXTENSION_LEAD, cord=cord("0.75", "2"), fuse_a=Decimal(3), outlets=1),
        [LOOKED_AT, *both_ways("0.1", "0.1", "outlet 1"), WIRED, INSULATED],
    ),
}  # fmt: skip


def paper_of(desk: Desk, world: World, work: dict[str, tuple[ItemFacts, list[Entry]]]) -> dict[str, Any]:
    """The data of the certificate of one visit with these items, under a house limit for insulation."""
    with desk.doing(world.owner) as deed:
        for item_id in world.item_ids:
            items.withdraw_item(deed, item_id, "Sold")
        for name, (facts, _) in work.items():
            items.add_item(deed, ItemDetails("", name, world.location_id, facts=facts))
        damp = HouseLimitDetails(INSULATION, Decimal(5), "Damp cellars", deed.today)
        idle = HouseLimitDetails(Check.TOUCH_CURRENT, Decimal("0.2"), "Wet hands", deed.today)
        for limit in (damp, idle):
            house_limits.set_house_limit(deed, limit)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        visits.change_method(deed, world.visit_id, Method(Decimal("0.05"), True, Decimal(30)))
        for row in list_visit_items(deed.session, world.visit_id):
            record_item(deed, world.visit_id, row.item_id, work[row.item.description][1])
        visits.finish_visit(deed, world.visit_id)
    with desk.doing(world.office) as deed:
        return certificate_from(certificates.collect_facts(deed, desk, world.office, world.visit_id, "C-000001"))


def test_it_says_what_is_wrong_how_it_was_measured_and_what_to_do(desk: Desk, world: World) -> None:
    paper = paper_of(desk, world, WORK)
    rows = {row["description"]: row for row in paper["schedule"]["rows"]}
    cells = {name: [entry["text"] for entry in row["cells"]["other"]] for name, row in rows.items()}
    earth = {name: [entry["text"] for entry in row["cells"]["conductor"]] for name, row in rows.items()}
    wrong = {item["description"]: item["wrong"] for item in paper["failed"]}
    method = dict(paper["method"])

    assert wrong["Yellow cable"] == ["Polarity: crossed or broken. Found at the plug."]
    assert rows["Yellow cable"]["class_and_load"] == "Extension lead, Class I, 110 V centre-tapped"
    assert wrong["Safety plug"] == [
        "RCD: tripped at half its rated current.",
        "RCD trip time: 120 ms at 0°, 130 to 500 ms (1 × 100 mA, type S; EN 61008): fail, 10 ms too early.",
    ]
    assert rows["Safety plug"]["cord_and_fuse"] == "RCD 100 mA, EN 61008, type S"
    assert cells["Safety plug"] == ["Visual: pass", "RCD at ½ ×: fail", "RCD 1 × at 0°: 120 ms fail"]
    (time,) = (each for each in rows["Safety plug"]["readings"] if each["reading"])
    assert (time["limit"], time["margin"]) == ("130 to 500 ms", "10 ms too early")
    assert earth["Polisher"][0] == "case, forward: 0.10 Ω fail, jumped"
    assert wrong["Fan heater"] == [
        "13 A fuse is too large for a cord of 0.5 mm² rated 3 A: fit a fuse of at most 3 A."
    ]  # fmt: skip
    assert wrong["Fan heater"][0] in rows["Fan heater"]["notes"]

    assert earth["Server"] == ["0.05 Ω both ways"]
    assert earth["Printer"] == ["0.05 Ω forward, 0.06 Ω reversed"]
    assert rows["Server"]["notes"] == [
        "Protective conductor current in place of insulation resistance, as it may where the insulation test "
        "cannot be done, is refused, or could harm the item."
    ]
    assert rows["Printer"]["notes"] == [
        "Substitute leakage current in place of insulation resistance: The maker forbids the insulation test."
    ]
    assert rows["Extension lead"]["notes"] == [
        "14 m of 1.25 mm²: at most 12 m is recommended. Shorten it, or protect it by an RCD of 30 mA."
    ]
    assert rows["Short lead"]["notes"] == [
        "An extension lead of 0.75 mm²: the recommended lengths begin at 1.25 mm², so none is given."
    ]
    assert [entry["under"] for entry in rows["Short lead"]["cells"]["insulation"]] == ["≥ 5 MΩ †"]
    assert method["House limits"] == "Marked †. Insulation resistance at least 5 MΩ since 4 Mar 2026: Damp cellars."
    assert method["Conductors"] == (
        "Protective conductors: test lead of 0.05 Ω subtracted from the readings; measured with d.c. both ways round; "
        "cords at 30 °C."
    )
    assert "from memory" not in str(paper)


def test_a_conditional_pass_is_counted_and_says_why(desk: Desk, world: World) -> None:
    """Heating above 3.5 kW that misses its insulation limit passes by its current: DIN VDE 0701-0702, from memory."""
    heater = ItemFacts(heating=True, rated_power_w=Decimal(3600), cord=None)
    done = [
        LOOKED_AT,
        *both_ways("0.09", "0.09", "case"),
        *both_ways("0.1", "0.1", "tap"),
        Entry(INSULATION, Reading(Decimal("0.2"), Unit.MEGOHM)),
        current(Check.PROTECTIVE_CONDUCTOR_CURRENT, "1.2"),
    ]
    with desk.doing(world.owner) as deed:
        get_firm(deed.session).rulebook_id = "en-50699"
    paper = paper_of(desk, world, {"Water heater": (heater, done)})
    (row,) = paper["schedule"]["rows"]
    assert paper["summary"]["sentence"] == "The item passed, but conditionally."
    assert [entry["text"] for entry in row["cells"]["conductor"]] == ["case, tap: 0.04, 0.05 Ω both ways"]
    assert row["notes"] == [
        "Insulation resistance beyond its limit: a conditional pass by the protective conductor current, which decides "
        "for heating of this power."
    ]
