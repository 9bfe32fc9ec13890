"""One visit with one item of every kind, worked on a tablet: each is entered on site, shows its own checks and limits
before anything is typed, passes, and stands on the certificate.

Limits: protective conductor 0.1 Ω + cord, insulation 1 MΩ (Class I), 2 MΩ (Class II), 0.25 MΩ (Class III), 0.3 MΩ
(heating above 3 kW): UK Code of Practice, 4th edition, as quoted by training pages. Cords in Ω/m: 0.0260 (0.75 mm²),
0.0195 (1), 0.0133 (1.5), 0.00798 (2.5): IEC 60228, class 5; 0.0156 (1.25): UK flex tables, from memory. Trip times:
EN 61008 and its type S from switchgear makers' tables, BS 7288 and BS 4293 from trade articles, BS 7071 from memory.
Microwave leakage 50 W/m²: EN 60335-2-25.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.actions import items, visits
from app.actions.deeds import Desk
from app.rules.equipment import Construction, Kind, Supply, Use
from app.rules.rcds import PRODUCTS
from app.store.database import Database
from tests.browser import OpenPage
from tests.cast import LONDON, World, make_world
from tests.journeys.test_one_visit import paper_when_drawn, sign_in, text_of
from tests.servers import RunningApp, running_app

EARTH, INSULATION = "protective-conductor-resistance", "insulation-resistance"
TRIP = "rcd-trip-time"


@dataclass(frozen=True)
class Piece:
    """One item: what is chosen on its form, the fields of its sheet in order, limits it shows, and what is typed."""

    name: str
    form: dict[str, str]
    checks: tuple[str, ...]
    limits: tuple[str, ...]
    typed: dict[str, str] = field(default_factory=dict)
    printed: tuple[str, ...] = ()
    ticks: tuple[str, ...] = ()


def cord(size: str, length: str, fuse: str = "") -> dict[str, str]:
    plug = {"fuse_a": fuse, "plug": "moulded"} if fuse else {}
    return {"cord_csa_mm2": size, "cord_length_m": length} | plug


NO_CORD = {"cord": "none"}
CLASS_II = {"construction": "II"}
CURRENTS_I = ("substitute-leakage-current", "protective-conductor-current", "touch-current")
CURRENTS_II = ("substitute-leakage-current", "touch-current")
APPLIANCE_I = ("visual", EARTH, INSULATION, *CURRENTS_I, "functional", "load")
APPLIANCE_II = ("visual", INSULATION, *CURRENTS_II, "functional", "load")
A_LEAD = ("visual", EARTH, "polarity", INSULATION)


def rcd(rated: str, product: str, *, times: str, printed: str, slow: str = "", fast: bool = True, **more: str) -> Piece:
    """A portable RCD: must hold at half its rated current, then trip in time at 1 ×, and at 5 × up to 30 mA."""
    ones = {f"{TRIP}-1-0": times, f"{TRIP}-1-180": times}
    fives = {f"{TRIP}-5-0": "21", f"{TRIP}-5-180": "22"} if fast else {}
    form = NO_CORD | CLASS_II | {"kind": "portable-rcd", "rcd_rated_ma": rated, "rcd_product": product} | more
    limits = (slow, *(("At most 40 ms",) if fast else ()))
    ticks = ("rcd_selective",) if "500" in slow else ()
    return Piece(
        f"RCD {rated} mA {product}{' type S' if ticks else ''}", form, ("visual", TRIP), limits, ones | fives,
        (printed,), ticks,
    )  # fmt: skip


PIECES = (
    Piece("Kettle", {"heating": "yes", "rated_power_w": "2200"} | cord("0.75", "1.5", "13"), APPLIANCE_I,
          ("At most 0.139 Ω", "At least 1 MΩ"), {EARTH: "0.111"}, ("0.111 Ω",)),
    Piece("Hand drill", CLASS_II | {"use": "hand-held"} | cord("0.75", "3", "3"), APPLIANCE_II, ("At least 2 MΩ",)),
    Piece("Polisher", {"use": "movable"} | cord("1", "12", "10"), APPLIANCE_I, ("At most 0.334 Ω", "At most 3.5 mA")),
    Piece("Refrigerator", {"use": "stationary"} | cord("0.75", "2", "13"), APPLIANCE_I, ("At most 0.152 Ω",)),
    # 9.6 kW would need no more than the 5 mA that the same Code caps it at; 3.6 kW × 0.75 mA/kW = 2.7 mA.
    Piece("Fixed water heater", NO_CORD | {"use": "fixed", "heating": "yes", "rated_power_w": "3600"}, APPLIANCE_I,
          ("At most 0.1 Ω", "At least 0.3 MΩ", "At most 2.7 mA"), {EARTH: "0.022"}, ("0.022 Ω",)),
    Piece("Radio with functional earth", {"construction": "II-functional-earth"} | cord("0.75", "2", "3"),
          APPLIANCE_II, ("At least 2 MΩ",)),
    Piece("Torch", NO_CORD | {"construction": "III"}, ("visual", INSULATION, "functional", "load"),
          ("At least 0.25 MΩ",), {}, (), ("extra_low_voltage",)),
    Piece("Unearthed lamp", cord("0.75", "2", "3"), ("visual", INSULATION, *CURRENTS_II, "functional", "load"),
          ("At least 2 MΩ", "its metal not being joined to earth"), {}, (), ("unearthed_metal",)),
    Piece("Server", {"use": "it"} | cord("0.75", "2", "5"), APPLIANCE_I, ("At most 0.152 Ω", "At most 3.5 mA"),
          {"protective-conductor-current": "1.93", INSULATION: ""}, ("1.93 mA",)),
    Piece("Extension lead", {"kind": "extension-lead", "outlets": "1"} | cord("1.25", "10", "13"), A_LEAD,
          ("At most 0.256 Ω",)),
    Piece("Multiway lead", {"kind": "multiway-lead", "outlets": "4"} | cord("1.25", "2", "13"), A_LEAD,
          ("At most 0.1312 Ω",), {f"{EARTH}-{place}": f"0.12{place}" for place in (1, 2, 3, 4)},
          ("Outlet 1, 2, 3, 4: 0.121, 0.122, 0.123, 0.124 Ω",)),
    Piece("Detachable cord", {"kind": "detachable-cord", "cord": "detachable"} | cord("0.75", "1.8", "5"), A_LEAD,
          ("At most 0.1468 Ω",)),
    # Two layers wound up carry 0.65 of the current: DIN VDE 0298-4, as quoted by cable makers.
    Piece("Coiled reel", {"kind": "extension-lead", "outlets": "2", "reel": "drum", "reel_layers": "2"}
          | cord("1.5", "15", "13"), A_LEAD, ("At most 0.2995 Ω", "9.75 A"),
          {f"{EARTH}-1": "0.201", f"{EARTH}-2": "0.202"}, ("0.201, 0.202 Ω",)),
    Piece("110 V drill", CLASS_II | {"supply": "110-centre-tapped", "use": "hand-held"} | cord("1", "3"), APPLIANCE_II,
          ("At least 2 MΩ",)),
    Piece("110 V lead", {"kind": "extension-lead", "supply": "110-centre-tapped", "outlets": "1"} | cord("1.5", "14"),
          A_LEAD, ("At most 0.2862 Ω", "Each live conductor to its own contact")),
    Piece("Three-phase mixer", {"supply": "400-three-phase", "use": "stationary"} | cord("2.5", "3"), APPLIANCE_I,
          ("At most 0.1239 Ω", "all lines and neutral joined"), {EARTH: "0.103"}, ("0.103 Ω",)),
    Piece("Three-phase lead", {"kind": "three-phase-lead", "supply": "400-three-phase", "outlets": "1"}
          | cord("2.5", "10"), A_LEAD, ("At most 0.1798 Ω", "phase sequence kept")),
    Piece("RCD lead", {"kind": "rcd-lead", "rcd_rated_ma": "30", "rcd_product": "EN 61008"} | cord("1.25", "5", "13"),
          (*A_LEAD, TRIP), ("At most 0.178 Ω", "At most 300 ms", "At most 40 ms"),
          {f"{TRIP}-1-0": "27", f"{TRIP}-1-180": "28", f"{TRIP}-5-0": "17", f"{TRIP}-5-180": "18"},
          ("1 × at 0°, 180°: 27, 28 ms", "5 × at 0°, 180°: 17, 18 ms")),
    rcd("10", "BS 7288", times="187", slow="At most 200 ms", printed="187 ms"),
    rcd("30", "BS 7071", times="186", slow="At most 200 ms", printed="186 ms"),
    rcd("100", "EN 61008", times="287", slow="At most 300 ms", printed="287 ms", fast=False),
    rcd("100", "EN 61008", times="411", slow="130 to 500 ms", printed="411 ms", fast=False),
    # BS 4293: 200 ms and between half and the whole of the set delay of 200 ms.
    rcd("100", "BS 4293", times="333", slow="300 to 400 ms", printed="333 ms", fast=False, rcd_delay_ms="200"),
    Piece("Microwave oven", {"kind": "microwave-oven", "use": "stationary"} | cord("1", "1", "10"),
          (*APPLIANCE_I, "microwave-leakage"), ("At most 0.1195 Ω", "At most 50 W/m²"),
          {"microwave-leakage": "3.7"}, ("3.7 W/m²",)),
    Piece("Battery charger", CLASS_II | {"kind": "charger"} | cord("0.75", "1.8", "3"), APPLIANCE_II,
          ("At least 2 MΩ", "From mains to output side"), {f"{INSULATION}-output": "43"}, ("43 MΩ",)),
    Piece("Power supply", NO_CORD | CLASS_II | {"kind": "power-supply", "use": "it"}, APPLIANCE_II,
          ("At least 2 MΩ", "From mains to output side"), {f"{INSULATION}-output": "44"}, ("44 MΩ",)),
)  # fmt: skip


def test_no_kind_class_use_supply_or_product_is_left_out() -> None:
    """All that the form offers, but EN 61009 and IEC 61540, which have the times of EN 61008."""
    chosen = [{"kind": "appliance", "construction": "I", "use": "portable", "supply": "230-single"} | piece.form
              for piece in PIECES]  # fmt: skip
    for name, options in (("kind", Kind), ("construction", Construction), ("use", Use), ("supply", Supply)):
        assert {form[name] for form in chosen} == {option.value for option in options}
    assert {form["rcd_product"] for form in chosen if "rcd_product" in form} == set(PRODUCTS) - {
        "EN 61009",
        "IEC 61540",
    }


@pytest.fixture
def firm(sqlite_url: str, tmp_path: Path) -> World:
    """The small firm, its visit under way, and nothing on the register."""
    database = Database(sqlite_url)
    desk = Desk(database, tmp_path / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
    world = make_world(desk)
    with desk.doing(world.owner) as deed:
        for item_id in world.item_ids:
            items.withdraw_item(deed, item_id, "Sold")
        visits.start_visit(deed, world.visit_id)
    database.close()
    return world


@pytest.fixture
def server(firm: World, tmp_path: Path) -> Iterator[RunningApp]:
    with running_app(tmp_path) as app:
        yield app


def test_one_visit_with_one_item_of_every_kind(
    firm: World, server: RunningApp, open_page_that_keeps_nothing: OpenPage
) -> None:
    open_page = open_page_that_keeps_nothing
    tablet = open_page("tablet", base_url=server.address)
    sign_in(tablet, "joss")
    visit = f"/visits/{firm.visit_id}"
    for piece in PIECES:
        add_on_site(tablet, visit, piece)
        look_before_typing(tablet, piece)
        work(tablet, piece)
    tablet.goto(f"{visit}/sheet")
    tablet.get_by_role("button", name="Finish the visit").tap()
    tablet.wait_for_url(re.compile(rf"{visit}$"))

    office = open_page("office", base_url=server.address)
    sign_in(office, "ines")
    office.goto(visit)
    office.get_by_role("button", name="Issue the certificate").click()
    text = text_of(paper_when_drawn(office, "certificates"))
    assert f"All {len(PIECES)} items passed." in text
    for piece in PIECES:
        assert piece.name in text
        for words in piece.printed:
            assert words.casefold() in text.casefold(), f"{words} of the {piece.name} is not on the certificate"


def add_on_site(page: Page, visit: str, piece: Piece) -> None:
    """Add the item as a technician does: what it is, where, and the facts that decide its checks."""
    page.goto(f"{visit}/items/new?type=none")
    page.locator("#f-description").fill(piece.name)
    page.locator("#f-location_id").select_option(index=1)
    for fold in page.locator("details.facts-more, details.facts-more details").all():
        if fold.get_attribute("open") is None:
            fold.locator("> summary").tap()
    for name, value in piece.form.items():
        place = page.locator(f"#f-{name}")
        if value == "yes":
            place.check()
        elif place.evaluate("each => each.tagName") == "SELECT":
            place.select_option(value)
        else:
            place.fill(value)
    for name in piece.ticks:
        page.locator(f"#f-{name}").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Add and open").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text(piece.name)


def look_before_typing(page: Page, piece: Piece) -> None:
    shown = page.locator("#item-form [data-check]").evaluate_all("parts => parts.map(part => part.dataset.check)")
    assert shown == list(piece.checks), piece.name
    words = re.sub(r"[\s\u00a0]+", " ", page.locator(".sheet-item").evaluate("each => each.textContent"))
    for limit in piece.limits:
        assert limit in words, f"{piece.name}: {limit} is not shown before entry"


def work(page: Page, piece: Piece) -> None:
    """Enter everything in order: what is usual for the kind, and what the piece says."""
    page.get_by_role("radio", name="All points satisfactory").check()
    for fold in page.locator("details.step-more").all():
        if fold.get_attribute("open") is None:
            fold.locator("> summary").tap()
    usual = {EARTH: "0.03", INSULATION: "99"}
    for field_name, value in (usual | piece.typed).items():
        place = page.locator(f"[name='{field_name}']")
        if value and place.count():
            place.fill(value)
    for radio in ("polarity", f"{TRIP}-half", "functional"):
        choice = page.locator(f"[name='{radio}'][value='satisfactory']")
        if choice.count():
            choice.check()
    expect(page.locator("#so-far")).to_have_attribute("data-verdict", "pass")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).tap()
    expect(page.locator("#recorded")).to_contain_text("pass")
