"""A new item on site in few presses: its type, its usual values, the next free number, the location kept."""

import pytest

from app.actions.deeds import Desk
from app.store.items import find_item_by_number
from app.store.readings import find_visit_item
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import GOOD_KETTLE, begin, sheet_of


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    return begin(desk, world)


def new_at(world: World) -> str:
    return f"/visits/{world.visit_id}/items/new"


def test_type_then_add(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    page = browse.get(new_at(begun), params={"location": begun.location_id})
    assert "Kettle" in words_of(page) and "Something else" in words_of(page)
    page = browse.get(new_at(begun), params=fields_of(page) | {"type": str(begun.equipment_type_id)})
    form = fields_of(page)
    assert (form["number"], form["description"]) == ("0004", "Kettle")
    assert form["location_id"] == str(begun.location_id)
    assert (form["cord_length_m"], form["cord_csa_mm2"], form["fuse_a"]) == ("1.5", "0.75", "13")
    answer = browse.post(f"/visits/{begun.visit_id}/items", form)
    assert answer.status_code == 303
    words = words_of(browse.get(answer.headers["location"]))
    assert "0004 Kettle" in words
    assert "At most 0.139 Ω" in words
    with desk.reading_only() as session:
        item = find_item_by_number(session, begun.customer_id, "0004")
        assert item is not None and item.equipment_type_id == begun.equipment_type_id
        assert find_visit_item(session, begun.visit_id, item.id) is not None


def test_the_number_that_was_looked_for_is_kept(browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    page = browse.get(new_at(begun), params={"number": "0x99", "type": "none"})
    assert fields_of(page)["number"] == "0X99"
    assert fields_of(page)["location_id"] == str(begun.location_id), "the only location there is"


def test_another_like_this_has_its_own_number(browse_as: BrowseAs, begun: World) -> None:
    page = browse_as(begun.technician).get(new_at(begun), params={"like": begun.item_ids[1]})
    form = fields_of(page)
    assert (form["description"], form["number"], form["construction"]) == ("Drill", "0004", "II")
    stranger = browse_as(begun.technician).get(new_at(begun), params={"like": begun.other_item_ids[1]})
    assert fields_of(stranger)["description"] == "", "not like an item of another customer"


def test_a_number_in_use_is_caught_and_nothing_is_added(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    form = fields_of(browse.get(new_at(begun), params={"type": begun.equipment_type_id}))
    answer = browse.post(f"/visits/{begun.visit_id}/items", form | {"number": "0002", "new_location": "Loft"})
    assert answer.status_code == 422
    assert "Item 0002 is there already: Drill, Staff room" in words_of(answer)
    assert fields_of(answer)["new_location"] == "Loft"
    assert "Loft" not in words_of(browse.get(f"/visits/{begun.visit_id}/sheet"))


def test_a_new_location_is_made_with_the_item(browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    form = fields_of(browse.get(new_at(begun), params={"type": begun.equipment_type_id}))
    assert browse.post(f"/visits/{begun.visit_id}/items", form | {"new_location": "Loft"}).status_code == 303
    assert "Loft 0 of 1 0004 Kettle to do" in words_of(browse.get(f"/visits/{begun.visit_id}/sheet"))
    again = form | {"number": "0005", "new_location": "staff ROOM"}
    answer = browse.post(f"/visits/{begun.visit_id}/items", again)
    assert answer.status_code == 422
    assert "has a location of this name already" in words_of(answer)


def test_where_it_is_and_what_it_is_are_needed(browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    form = fields_of(browse.get(new_at(begun), params={"type": begun.equipment_type_id}))
    answer = browse.post(
        f"/visits/{begun.visit_id}/items", form | {"description": "", "location_id": str(begun.other_location_id)}
    )
    assert answer.status_code == 422
    assert "Say what it is." in words_of(answer)
    assert "Choose where it is, or name a new location." in words_of(answer)


def test_the_location_of_the_last_saved_item_is_proposed(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    form = fields_of(browse.get(new_at(begun), params={"type": begun.equipment_type_id}))
    browse.post(f"/visits/{begun.visit_id}/items", form | {"new_location": "Loft"})
    browse.post(sheet_of(begun), GOOD_KETTLE)
    page = browse.get(new_at(begun), params={"type": begun.equipment_type_id})
    assert fields_of(page)["location_id"] == str(begun.location_id)
