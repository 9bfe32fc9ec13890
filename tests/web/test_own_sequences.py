"""A type's own test sequence on the screens: chosen on its form, passed on to items, and what it leaves out said."""

from decimal import Decimal

from app.actions.deeds import Desk
from app.rules.checks import Check, check_sequence
from app.rules.rulebooks import rulebook_named
from app.rules.sequences import OWN_CHECKS
from app.store.equipment_types import list_equipment_types
from app.store.items import get_item
from tests.cast import KETTLE, BrowseAs, World
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import GOOD_KETTLE, begin, kept, sheet_of

#: The UK Code of Practice asks Class I for a protective conductor test (4th edition, as quoted by training pages).
GAP = "The firm's own sequence leaves out what UK, limits of 2012 asks for: protective conductor resistance."
CHOSEN = {"own_sequence": "yes", "own-functional": "yes", "own-visual": "yes", "own-insulation-resistance": "yes"}


def test_a_type_gets_its_own_sequence_in_safe_order(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/equipment-types/{world.equipment_type_id}"
    form = browse.get(f"{address}/edit")
    offered = [name for name in form.text.split('"') if name.startswith("own-") and name[4:] in set(Check)]
    assert offered == [f"own-{check.value}" for check in OWN_CHECKS]
    answer = browse.post(address, fields_of(form) | {"own_sequence": "yes"})
    assert answer.status_code == 422
    assert "Tick the checks of your own sequence" in words_of(answer)
    assert browse.post(address, fields_of(form) | CHOSEN).status_code == 303
    with desk.reading_only() as session:
        kettle = next(row for row in list_equipment_types(session) if row.id == world.equipment_type_id)
        assert kettle.own_checks == ["visual", "insulation-resistance", "functional"]
    listed = words_of(browse.get("/equipment-types"))
    assert "Appliance, own test sequence The firm's own: visual inspection, insulation resistance" in listed
    part = browse.get("/equipment-types/parts/asked-checks", params=fields_of(form) | CHOSEN)
    asked = "asks for: visual inspection, protective conductor resistance, insulation resistance."
    assert f"UK, limits of 2012 {asked} Left out: protective conductor resistance." in words_of(part)
    shown = fields_of(browse.get(f"{address}/edit"))
    assert CHOSEN.items() <= shown.items()
    del shown["own_sequence"]
    browse.post(address, shown)
    with desk.reading_only() as session:
        assert list_equipment_types(session)[0].own_checks is None


def test_the_order_offered_is_the_rulebooks() -> None:
    """Whatever does not energise the item comes before whatever does: common practice, no source."""
    energising = {step.check for step in check_sequence(KETTLE, rulebook_named("uk-2012")) if step.energises}
    places = [check in energising or check in (Check.RCD_TRIP_TIME, Check.MICROWAVE_LEAKAGE) for check in OWN_CHECKS]
    assert places == sorted(places)


def test_the_item_its_sheet_and_the_record_say_what_is_left_out(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/equipment-types/{world.equipment_type_id}"
    browse.post(address, fields_of(browse.get(f"{address}/edit")) | CHOSEN)
    new = browse.get(f"/premises/{world.premises_id}/items/new", params={"type": world.equipment_type_id})
    item = browse.post(f"/premises/{world.premises_id}/items", fields_of(new)).headers["location"]
    with desk.reading_only() as session:
        added = get_item(session, int(item.split("/")[-1]))
        world.item_ids.append(added.id)
        assert added.own_checks == ["visual", "insulation-resistance", "functional"]
        assert added.facts.rated_power_w == Decimal(2200)
    page = words_of(browse.get(item))
    assert GAP in page
    assert "The firm’s own sequence. Judged by UK, limits of 2012" in page
    begin(desk, world)
    technician, sheet = browse_as(world.technician), sheet_of(world, 3)
    opened = technician.get(sheet)
    assert GAP in words_of(opened)
    assert 'data-check="protective-conductor-resistance"' not in opened.text
    good = {name: value for name, value in GOOD_KETTLE.items() if name != "protective-conductor-resistance"}
    assert technician.post(sheet, good).status_code == 303
    assert kept(desk, world, 3) == (
        "pass", {"visual": "pass", "insulation-resistance": "pass", "functional": "pass"},
    )  # fmt: skip
    assert words_of(technician.get(sheet)).count(GAP) == 2, "above the checks and in what is recorded"


def test_after_a_repair_the_sheet_brings_the_whole_sequence(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, item = browse_as(world.office), f"/items/{world.item_ids[0]}"
    browse.post(item, fields_of(browse.get(f"{item}/edit")) | CHOSEN)
    begin(desk, world)
    technician, sheet = browse_as(world.technician), sheet_of(world)
    typed = {"again": "yes", "after_repair": "yes", "insulation-resistance": "77"}
    page = technician.get(sheet, params=typed)
    assert 'data-check="protective-conductor-resistance"' in page.text
    assert GAP not in words_of(page)
    assert fields_of(page)["insulation-resistance"] == "77", "what was typed stays"
    technician.post(sheet, GOOD_KETTLE | {"after_repair": "yes"})
    assert kept(desk, world)[0] == "pass"
    words = words_of(technician.get(sheet))
    assert "Tested after a repair." in words
    assert fields_of(technician.get(sheet))["after_repair"] == "yes"


def test_new_items_on_site_and_copies_take_the_sequence_along(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/equipment-types/{world.equipment_type_id}"
    browse.post(address, fields_of(browse.get(f"{address}/edit")) | CHOSEN)
    begin(desk, world)
    technician, visit = browse_as(world.technician), f"/visits/{world.visit_id}"
    form = technician.get(f"{visit}/items/new", params={"type": world.equipment_type_id, "number": "0100"})
    sheet = technician.post(f"{visit}/items", fields_of(form)).headers["location"]
    like = technician.get(f"{visit}/items/new", params={"like": sheet.split("/")[-1]})
    copy = technician.post(f"{visit}/items", fields_of(like)).headers["location"]
    for place in (sheet, copy):
        assert GAP in words_of(technician.get(place))


def test_dielectric_strength_needs_a_name_in_the_settings(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    owner = browse_as(world.owner)
    page = owner.get("/settings/judging")
    assert "Nobody: the test is off" in words_of(page)
    assert "A high-voltage test. It is for competent persons only" in words_of(page)
    begin(desk, world)
    sheet = browse_as(world.technician).get(sheet_of(world), params={"again": "yes", "after_repair": "yes"})
    assert "dielectric-strength" not in sheet.text
    shown = fields_of(page)
    assert owner.post("/settings/judging", shown | {"dielectric_by_id": "999"}).status_code in (404, 422)
    assert owner.post("/settings/judging", shown | {"dielectric_by_id": str(world.technician.id)}).status_code == 303
    other = f"/visits/{world.other_visit_id}"
    technician = browse_as(world.technician)
    technician.post(f"{other}/start")
    sheet_address = f"{other}/items/{world.other_item_ids[0]}"
    assert "dielectric-strength" not in technician.get(sheet_address).text
    page = technician.get(sheet_address, params={"again": "yes", "after_repair": "yes"})
    assert "only by Joss Alder, whom the firm has named as competent" in words_of(page)
    filled = GOOD_KETTLE | {"after_repair": "yes", "dielectric-strength": "0.4"}
    refused = technician.post(sheet_address, filled)
    assert refused.status_code == 422 and "Tick that Joss Alder did this test" in words_of(refused)
    technician.post(sheet_address, filled | {"done-by-named": "yes"})
    saved = fields_of(technician.get(sheet_address))
    assert (saved["dielectric-strength"], saved["done-by-named"]) == ("0.4", "yes")
