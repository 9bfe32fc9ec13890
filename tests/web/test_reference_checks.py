"""Reference checks on their pages: what an instrument is checked against, the quick form, the drawn history."""

import re
from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.quantities import Reading, Unit
from app.rules.verdicts import Outcome
from tests.cast import Browse, BrowseAs, Clock, World
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import GOOD_DRILL, sheet_of, version_on

ITEM = {
    "name": "1 Ω resistor",
    "check": "protective-conductor-resistance",
    "nominal": "1",
    "unit": "ohm",
    "tolerance": "5",
    "allowed": "percent",
    "every_days": "30",
}


def with_item(browse: Browse, world: World) -> str:
    """Add the resistor, and give the name of its field."""
    here = f"/instruments/{world.instrument_id}"
    assert browse.post(f"{here}/references", ITEM).status_code == 303
    (name,) = [name for name in fields_of(browse.get(f"{here}/checks/new")) if name.startswith("reading-")]
    return name


def test_a_reference_item_is_entered_and_what_is_wrong_is_said(browse_as: BrowseAs, world: World) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    for changed, field in (
        ({"name": ""}, "name"),
        ({"nominal": "0"}, "nominal"),
        ({"nominal": "one"}, "nominal"),
        ({"unit": "mA"}, "unit"),
        ({"unit": "furlong"}, "unit"),
        ({"check": "visual"}, "check"),
        ({"tolerance": ""}, "tolerance"),
        ({"every_days": "0"}, "every_days"),
        ({"allowed": "roughly"}, "allowed"),
    ):
        answer = office.post(f"{here}/references", ITEM | changed)
        assert answer.status_code == 422, changed
        assert f'id="f-{field}' in answer.text and "-mistake" in answer.text, changed
    with_item(office, world)
    words = words_of(office.get(here))
    assert "1 Ω ± 5 % = 0.95 Ω to 1.05 Ω" in words
    assert "now, for the first time" in words
    assert "Blue tester has not been checked against 1 Ω resistor yet." in words
    assert "check due" in words_of(office.get("/instruments"))


def test_an_item_is_changed_and_taken_away(browse_as: BrowseAs, world: World) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    reference_id = with_item(office, world).removeprefix("reading-")
    shown = fields_of(office.get(f"{here}/references/{reference_id}/edit"))
    assert office.post(f"{here}/references/{reference_id}", shown | {"tolerance": "-1"}).status_code == 422
    assert office.post(f"{here}/references/{reference_id}", shown | {"every_days": "7"}).status_code == 303
    assert office.post(f"{here}/references/{reference_id}", shown).status_code == 409
    shown = fields_of(office.get(f"{here}/references/{reference_id}/edit"))
    shown.pop("active")
    assert office.post(f"{here}/references/{reference_id}", shown).status_code == 303
    assert "no longer checked" in words_of(office.get(here))
    assert "Nothing to check it against yet" in words_of(office.get(f"{here}/checks/new"))
    assert office.get(f"/instruments/999/references/{reference_id}/edit").status_code == 404


def test_a_technician_checks_with_the_quick_form(browse_as: BrowseAs, world: World) -> None:
    name = with_item(browse_as(world.office), world)
    joss, here = browse_as(world.technician), f"/instruments/{world.instrument_id}"
    assert joss.get(f"{here}/references/new").status_code == 403
    for typed in ("", "about one", "1 MA", "> 0.5", "-1"):
        answer = joss.post(f"{here}/checks", {name: typed, "note": "new leads"})
        assert answer.status_code == 422, typed
        assert fields_of(answer)["note"] == "new leads"
        assert fields_of(answer)[name] == typed
    assert joss.post(f"{here}/checks", {name: "1,01 Ω", "note": "new leads"}).headers["location"] == f"{here}/checks"
    words = words_of(joss.get(f"{here}/checks"))
    assert "1 check, within tolerance." in words
    assert "1.01 Ω, band 1 Ω ± 5 % = 0.95 Ω to 1.05 Ω: pass, 0.04 Ω to spare. new leads" in words
    assert "Joss Alder" in words


def test_the_history_is_drawn_with_its_band_and_a_table(browse_as: BrowseAs, world: World, clock: Clock) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    name = with_item(office, world)
    for shown in ("1.000", "1.004", "1.008", "1.012", "1.016", "1.020", "1.2"):
        office = browse_as(world.office)  # signed in anew each time, as on another day
        assert office.post(f"{here}/checks", {name: shown}).status_code == 303
        clock.pass_time(days=1)
    office = browse_as(world.office)
    page = office.get(f"{here}/checks")
    start = page.text.index('class="chart-drawing chart-wide"') - 200
    svg = page.text[start:].partition("</svg>")[0]
    assert 'role="img"' in svg and "<title" in svg and "<desc" in svg
    assert svg.count("<circle") == 6 and svg.count("<rect") == 1, "a shape says pass or fail"
    assert "chart-band" in svg and svg.count("chart-limit") == 2 and "chart-nominal" in svg
    for number in re.findall(r'c[xy]="([^"]+)"', svg):
        assert 0 <= Decimal(number) <= 640
    assert "7 checks, 1 outside tolerance; they drift upwards" in words_of(page)
    table = page.text[page.text.index("As a table") :]
    assert table.count('scope="row"') == 7


def test_a_failed_check_names_what_was_measured_by_customer(
    desk: Desk, browse_as: BrowseAs, world: World, clock: Clock
) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    name = with_item(office, world)
    office.post(f"{here}/checks", {name: "1.00"})
    measured = [
        Entry(Check.VISUAL, outcome=Outcome.PASS),
        Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(99), Unit.MEGOHM)),
    ]
    for visit_id, item_id in ((world.visit_id, world.item_ids[1]), (world.other_visit_id, world.other_item_ids[1])):
        with desk.doing(world.technician) as deed:
            visits.start_visit(deed, visit_id)
            record_item(deed, visit_id, item_id, measured)
    clock.pass_time(days=9)
    office = browse_as(world.office)
    office.post(f"{here}/checks", {name: "1.2"})
    page = office.get(here)
    words = words_of(page)
    assert "The check against 1 Ω resistor failed on 13 Mar 2026 In doubt from the last good one of 4 Mar 2026" in words
    assert "now: the last one failed" in words
    doubt = re.search(rf"{here}/doubts/check-\d+", page.text)
    assert doubt is not None
    assert "Nothing of this function was measured with it" in words_of(office.get(doubt[0])), "no resistance was"
    everything = office.get(f"{doubt[0]}?shown=yes&check=")
    assert "Insulation resistance 99 MΩ" in words_of(everything)
    assert everything.text.index("Brackenhow Primary School") < everything.text.index("Saltgate Brewery")
    of_one = office.get(f"{doubt[0]}?shown=yes&check=&customer={world.other_customer_id}")
    assert of_one.text.count("99") < everything.text.count("99")
    assert f"/visits/{world.visit_id}/items" not in of_one.text
    assert "check failed" in words_of(office.get("/instruments"))
    assert "Blue tester failed its check against 1 Ω resistor on 13 March 2026." in words_of(office.get("/"))
    # The sheet refuses, says why, and keeps what was typed.
    joss, sheet = browse_as(world.technician), sheet_of(world, 1)
    answer = joss.post(sheet, GOOD_DRILL | version_on(joss, sheet))
    assert answer.status_code == 409
    assert "Only the owner can allow it" in words_of(answer)
    assert fields_of(answer)["insulation-resistance"] == "99"
    visit = joss.get(f"/visits/{world.visit_id}")
    assert "Nothing can be measured at this visit as it is." in words_of(visit)
    ines = browse_as(world.owner)
    assert "allow_reason" in fields_of(ines.get(f"/visits/{world.visit_id}"))
    assert ines.post(f"/visits/{world.visit_id}/allow-instrument", {"allow_reason": " "}).status_code == 422
    reason = {"allow_reason": "The drill only needs insulation"}
    for withdrawn in (True, False):
        assert ines.post(f"/visits/{world.visit_id}/allow-instrument", reason).status_code == 303
        if withdrawn:
            assert "Withdraw it" in words_of(ines.get(f"/visits/{world.visit_id}"))
            assert "Withdraw it" not in words_of(joss.get(f"/visits/{world.visit_id}"))
            path = f"/visits/{world.visit_id}/withdraw-allowance"
            assert ines.post(path, {"place": "7"}).status_code == 409
            assert ines.post(path, {"place": "0"}).status_code == 303
            assert "(withdrawn on 13 March 2026 by Ines Tarn)" in words_of(ines.get(f"/visits/{world.visit_id}"))
            assert joss.post(sheet, GOOD_DRILL | version_on(joss, sheet)).status_code == 409
    assert joss.post(sheet, GOOD_DRILL | version_on(joss, sheet)).status_code == 303


def test_a_pass_after_a_failure_says_the_cause(browse_as: BrowseAs, world: World) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    name = with_item(office, world)
    joss = browse_as(world.technician)
    assert joss.post(f"{here}/checks", {name: "1.2"}).status_code == 303
    booking = words_of(office.get(f"/visits/new?premises={world.premises_id}"))
    assert "Blue tester, calibrated until 24 Nov 2026, check failed" in booking
    assert "check it again with the cause in the note" in words_of(joss.get(f"{here}/checks"))
    answer = joss.post(f"{here}/checks", {name: "1.02", "note": " "})
    assert answer.status_code == 422 and 'id="f-note-mistake"' in answer.text
    assert joss.post(f"{here}/checks", {name: "1.02", "note": "Cracked lead, replaced"}).status_code == 303
    history = joss.get(f"{here}/checks")
    assert "Passed after a failure, by Joss Alder: Cracked lead, replaced" in words_of(history)
    assert "passed after a failure: Cracked lead, replaced" in words_of(joss.get(here))
    check = re.search(rf"{here}/checks/\d+", history.text)
    assert check is not None
    assert "Cause of the failure Cracked lead, replaced" in words_of(office.get(check[0]))
    assert "Strike it out" not in words_of(office.get(check[0]))
    ines = browse_as(world.owner)
    assert ines.post(f"{check[0]}/strike-out", {"struck_reason": " "}).status_code == 422
    assert ines.post(f"{check[0]}/strike-out", {"struck_reason": "Against the other resistor"}).status_code == 303
    assert "Against the other resistor" in words_of(ines.get(f"{here}/checks"))
    assert "check failed" in words_of(ines.get("/instruments")), "what it had lifted stands again"
    with_bad_calibration = {"calibrated_on": "2026-03-04", "good_until": "2027-03-03", "certificate_number": "X"}
    assert office.post(f"{here}/calibrations", with_bad_calibration | {"result": "failed"}).status_code == 303
    assert "no check lifts a calibration that failed" in words_of(office.get(f"{here}/checks"))
    booking = words_of(office.get(f"/visits/new?premises={world.premises_id}"))
    assert "failed its calibration of 4 Mar 2026, check failed" in booking


def test_another_instrument_is_taken_under_way(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    made = office.post("/instruments", {"name": "Green tester", "serial": "G-1"}).headers["location"]
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    joss, address = browse_as(world.technician), f"/visits/{world.visit_id}"
    assert "Green tester, G-1" in words_of(joss.get(address))
    for wrong in ("", "999", "x", str(world.instrument_id)):
        answer = joss.post(f"{address}/instrument", {"instrument_id": wrong})
        assert answer.status_code == 422, wrong
        assert 'id="f-instrument_id-mistake"' in answer.text
    assert joss.post(f"{address}/instrument", {"instrument_id": made.rsplit("/", 1)[1]}).status_code == 303
    assert "Green tester has no calibration on record." in words_of(joss.get(address))


def test_ranges_show_an_example_worked(browse_as: BrowseAs, world: World) -> None:
    """JCGM 100:2008, 6.2.1: the expanded uncertainty is k times the standard one, so for k = 2 it is told × 2 / k."""
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}/ranges"
    typed = {
        "check": "protective-conductor-resistance",
        "unit": "ohm",
        "least": "0",
        "most": "2",
        "percent": "2",
        "digits": "5",
        "resolution": "0.01",
        "absolute": "",
        "coverage": "2",
    }
    assert office.post(here, typed).status_code == 303
    assert "At 1 Ω: 1 × 2 / 100 + 5 × 0.01 = ± 0.07 Ω (k = 2)." in words_of(office.get(here))
    same_ends = office.post(here, typed | {"unit": "mohm", "most": "2000", "resolution": "10"})
    assert same_ends.status_code == 422 and 'id="f-most-mistake"' in same_ends.text, "the finest would go on deciding"
    edit = re.search(rf"{here}/(\d+)/edit", office.get(here).text)
    assert edit is not None
    assert fields_of(office.get(edit[0]))["resolution"] == "0.01"
    changed = {"absolute": "0.03", "percent": "", "digits": "", "coverage": "3"}
    assert office.post(f"{here}/{edit[1]}", typed | {"most": "0"}).status_code == 422
    assert office.post(f"{here}/{edit[1]}", typed | changed).status_code == 303
    assert "At 1 Ω: ± 0.03 Ω for k = 3, so × 2 / 3 = ± 0.02 Ω for k = 2." in words_of(office.get(here))
    for changed, field in (
        ({"coverage": "9"}, "coverage"),
        ({"coverage": "0"}, "coverage"),
        ({"percent": "", "digits": ""}, "percent"),
        ({"percent": "500"}, "percent"),
        ({"resolution": ""}, "resolution"),
    ):
        answer = office.post(here, typed | changed)
        assert answer.status_code == 422
        assert f'id="f-{field}-mistake"' in answer.text, changed
    assert browse_as(world.technician).post(here, typed).status_code == 403
