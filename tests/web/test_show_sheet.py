"""The visit sheet: items by location with their marks, and one field that finds an item by the end of its number."""

import pytest

from app.actions import items, premises, visits
from app.actions.deeds import Desk
from app.rules.customers import PremisesDetails
from app.rules.items import ItemDetails
from app.store.items import get_item
from app.store.readings import find_visit_item
from tests.cast import DRILL, KETTLE, BrowseAs, World
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import GOOD_KETTLE, begin, sheet_of, version_on


def test_items_stand_by_location_with_their_marks(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(world.owner) as deed:
        kitchen = premises.add_location(deed, world.premises_id, "Kitchen").id
        items.add_item(deed, ItemDetails("", "Toaster", kitchen, facts=KETTLE))
    begin(desk, world)
    browse = browse_as(world.technician)
    browse.post(sheet_of(world), GOOD_KETTLE | version_on(browse, sheet_of(world)))
    browse.post(f"{sheet_of(world, 1)}/leave", {"reason": "not found"} | version_on(browse, sheet_of(world, 1)))
    words = words_of(browse.get(f"/visits/{world.visit_id}/sheet"))
    assert "2 of 4 items done" in words
    assert "Staff room 2 of 3 0001 Kettle pass 0002 Drill not tested: not found 0003 Extension lead" in words
    assert "Kitchen 0 of 1 0004 Toaster to do" in words


def test_a_sheet_that_has_not_begun_leads_to_its_visit(browse_as: BrowseAs, world: World) -> None:
    answer = browse_as(world.technician).get(f"/visits/{world.visit_id}/sheet")
    assert answer.headers["location"] == f"/visits/{world.visit_id}"


def test_premises_without_items_say_what_to_do(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(world.owner) as deed:
        for item_id in world.item_ids:
            items.withdraw_item(deed, item_id, "Sold")
    begin(desk, world)
    words = words_of(browse_as(world.technician).get(f"/visits/{world.visit_id}/sheet"))
    assert "No items on this visit yet" in words
    assert "New item" in words


@pytest.mark.parametrize("typed", ["0003", "3", "03", " 3 ", "00003"])
def test_the_last_digits_of_a_number_suffice(desk: Desk, browse_as: BrowseAs, world: World, typed: str) -> None:
    begin(desk, world)
    answer = browse_as(world.technician).get(f"/visits/{world.visit_id}/find", params={"number": typed})
    assert answer.headers["location"] == sheet_of(world, 2)


def test_an_exact_number_wins_and_several_ends_are_offered(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(world.owner) as deed:
        for number in ("A-17", "B-17", "17"):
            items.add_item(deed, ItemDetails(number, f"Lamp {number}", world.location_id, facts=DRILL))
    begin(desk, world)
    browse, address = browse_as(world.technician), f"/visits/{world.visit_id}/find"
    assert browse.get(address, params={"number": "b-17"}).status_code == 303
    assert browse.get(address, params={"number": "17"}).status_code == 303, "one has just this number"
    words = words_of(browse.get(address, params={"number": "-17"}))
    assert "2 numbers end in -17" in words
    assert "Lamp A-17" in words and "Lamp B-17" in words


def test_an_unknown_number_offers_to_add_it(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    begin(desk, world)
    browse = browse_as(world.technician)
    page = browse.get(f"/visits/{world.visit_id}/find", params={"number": "0x99"})
    assert "No item of Brackenhow Primary School has the number 0X99" in words_of(page)
    assert f"/visits/{world.visit_id}/items/new?number=0X99" in page.text


def test_an_item_that_came_later_is_put_on_the_visit(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    begin(desk, world)
    with desk.doing(world.office) as deed:
        late = items.add_item(deed, ItemDetails("0077", "Late lamp", world.location_id, facts=DRILL)).id
    browse = browse_as(world.technician)
    page = browse.get(f"/visits/{world.visit_id}/find", params={"number": "0077"})
    assert "came to the register after this visit began" in words_of(page)
    answer = browse.post(f"/visits/{world.visit_id}/items", fields_of(page))
    assert answer.headers["location"] == f"/visits/{world.visit_id}/items/{late}"
    assert browse.get(answer.headers["location"]).status_code == 200


def test_an_item_from_elsewhere_is_moved_here(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(world.owner) as deed:
        annexe = premises.add_premises(deed, world.customer_id, PremisesDetails("Annexe", "2 High Street"))
        hall = premises.add_location(deed, annexe.id, "Hall").id
        moved = items.add_item(deed, ItemDetails("0088", "Projector", hall, facts=KETTLE)).id
    begin(desk, world)
    browse = browse_as(world.technician)
    page = browse.get(f"/visits/{world.visit_id}/find", params={"number": "0088"})
    assert "belongs to Annexe, Hall" in words_of(page)
    browse.post(f"/visits/{world.visit_id}/items", {"item_id": str(moved), "location_id": str(world.location_id)})
    with desk.reading_only() as session:
        assert get_item(session, moved).premises_id == world.premises_id
        assert find_visit_item(session, world.visit_id, moved) is not None


def test_a_withdrawn_number_and_another_customers_are_not_opened(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    begin(desk, world)
    with desk.doing(world.owner) as deed:
        gone = items.add_item(deed, ItemDetails("0055", "Old heater", world.location_id, facts=KETTLE)).id
        items.withdraw_item(deed, gone, "Scrapped")
        items.add_item(deed, ItemDetails("0777", "Pump", world.other_location_id, facts=KETTLE))
    browse, address = browse_as(world.technician), f"/visits/{world.visit_id}/find"
    assert "is withdrawn: Scrapped" in words_of(browse.get(address, params={"number": "0055"}))
    assert "Pump" not in words_of(browse.get(address, params={"number": "0777"}))
    foreign = {"item_id": str(world.other_item_ids[0]), "location_id": str(world.location_id)}
    assert browse.post(f"/visits/{world.visit_id}/items", foreign).status_code == 409
    assert browse.get(f"/visits/{world.visit_id}/items/{world.other_item_ids[0]}").status_code == 404


def test_a_finished_sheet_is_read_only(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    begin(desk, world)
    browse = browse_as(world.technician)
    browse.post(sheet_of(world), GOOD_KETTLE | version_on(browse, sheet_of(world)))
    for place in (1, 2):
        browse.post(f"{sheet_of(world, place)}/leave", {"reason": "removed from the premises"})
    with desk.doing(world.technician) as deed:
        visits.finish_visit(deed, world.visit_id)
    assert "New item" not in words_of(browse.get(f"/visits/{world.visit_id}/sheet"))
    words = words_of(browse.get(sheet_of(world)))
    assert "at most 0.139 Ω = 0.1 + 1.5 m × 0.0260 Ω/m" in words
    assert "The visit is finished, so this stands as it was recorded." in words
    answer = browse.post(sheet_of(world), GOOD_KETTLE)
    assert answer.status_code == 409
    assert "Readings are recorded while the visit is under way" in words_of(answer)
    assert browse.get(f"/visits/{world.visit_id}/items/new").headers["location"] == f"/visits/{world.visit_id}"
