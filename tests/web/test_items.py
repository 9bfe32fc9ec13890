"""The forms for an item: usual values of a type, the next number, one after another, and what is refused."""

from datetime import date
from decimal import Decimal

import pytest

from app.actions import customers, items, premises
from app.actions.deeds import Desk
from app.rules.customers import CustomerDetails, PremisesDetails
from app.rules.items import ItemDetails
from app.store.items import find_item_by_number, get_item, list_items
from tests.cast import KETTLE, BrowseAs, World
from tests.web.page_text import fields_of, words_of


@pytest.fixture
def address(world: World) -> str:
    return f"/premises/{world.premises_id}/items"


@pytest.fixture
def kettle(world: World) -> dict[str, str]:
    """What the form of a kettle sends."""
    return {
        "number": "0004", "description": "Kettle", "location_id": str(world.location_id), "kind": "appliance",
        "equipment_type_id": str(world.equipment_type_id), "construction": "I", "use": "portable", "heating": "yes",
        "supply": "230-single", "rated_power_w": "2200", "cord": "attached", "cord_csa_mm2": "0.75",
        "cord_length_m": "1,5", "plug": "moulded", "fuse_a": "13",
    }  # fmt: skip


def test_the_form_opens_with_the_next_number_and_the_only_location(
    browse_as: BrowseAs, world: World, address: str
) -> None:
    shown = fields_of(browse_as(world.technician).get(f"{address}/new"))
    assert shown["number"] == "0004"
    assert shown["location_id"] == str(world.location_id)
    assert shown["plug"] == ""


def test_a_type_brings_its_usual_values_and_leaves_what_was_typed(
    browse_as: BrowseAs, world: World, address: str
) -> None:
    browse = browse_as(world.technician)
    plain = fields_of(browse.get(f"{address}/new", params={"type": world.equipment_type_id}))
    assert (plain["description"], plain["rated_power_w"], plain["cord_csa_mm2"]) == ("Kettle", "2200", "0.75")
    typed = fields_of(browse.get(f"{address}/new")) | {"serial": "S-1", "make": "Corrie", "number": "K-7"}
    chosen = fields_of(browse.get(f"{address}/new", params=typed | {"equipment_type_id": str(world.equipment_type_id)}))
    assert (chosen["serial"], chosen["make"], chosen["number"]) == ("S-1", "Corrie", "K-7")
    assert (chosen["description"], chosen["heating"], chosen["fuse_a"]) == ("Kettle", "yes", "13")
    own_words = fields_of(browse.get(f"{address}/new", params=chosen | {"description": "Red kettle"}))
    assert own_words["description"] == "Red kettle"


def test_an_item_is_added_with_what_was_typed(
    desk: Desk, browse_as: BrowseAs, world: World, address: str, kettle: dict[str, str]
) -> None:
    answer = browse_as(world.technician).post(address, kettle | {"serial": " S-9 ", "then": "show"})
    assert answer.status_code == 303
    with desk.reading_only() as session:
        row = find_item_by_number(session, world.customer_id, "0004")
        assert row is not None
        assert answer.headers["location"] == f"/items/{row.id}"
        assert row.facts == KETTLE
        assert (row.serial, row.equipment_type_id, row.added_on) == ("S-9", world.equipment_type_id, desk.today)


def test_another_like_it_keeps_everything_but_number_and_serial(
    browse_as: BrowseAs, world: World, address: str, kettle: dict[str, str]
) -> None:
    browse = browse_as(world.technician)
    own = {"serial": "S-9", "make": "Corrie", "interval_months": "6", "interval_reason": "Dropped often"}
    answer = browse.post(address, kettle | own | {"then": "like"})
    form = browse.get(answer.headers["location"])
    assert "Item 0004, Kettle, is on the register at Staff room." in words_of(form)
    shown = fields_of(form)
    assert (shown["number"], shown["serial"]) == ("0005", "")
    for name in ("make", "interval_months", "interval_reason", "location_id", "rated_power_w", "plug"):
        assert shown[name] == (kettle | own)[name].replace(",", "."), name


def test_a_different_one_keeps_the_location_which_may_be_new(
    browse_as: BrowseAs, world: World, address: str, kettle: dict[str, str]
) -> None:
    browse = browse_as(world.technician)
    answer = browse.post(address, kettle | {"new_location": "Boiler room", "then": "other"})
    form = browse.get(answer.headers["location"])
    assert "is on the register at Boiler room." in words_of(form)
    shown = fields_of(form)
    assert shown["location_id"] != str(world.location_id)
    assert (shown["description"], shown["number"]) == ("", "0005")
    again = browse.post(address, kettle | {"number": "", "new_location": "boiler ROOM", "then": "other"})
    assert again.headers["location"].split("&")[0] == answer.headers["location"].split("&")[0]


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"description": " "}, "description", "Say what it is."),
        ({"number": "0001"}, "number", "Item 0001 is there already: Kettle, Staff room, Brackenhow Primary School"),
        ({"number": "über"}, "number", "letters, digits"),
        ({"location_id": ""}, "location_id", "Say where the item is"),
        ({"rated_power_w": "-1"}, "rated_power_w", "cannot be below zero"),
        ({"interval_months": "6"}, "interval_reason", "Say why this item has its own interval."),
        ({"interval_months": "0", "interval_reason": "x"}, "interval_months", "from 1 to 120"),
        ({"interval_months": "1e3", "interval_reason": "x"}, "interval_months", "whole number"),
        ({"interval_months": "24", "interval_reason": "x"}, "interval_months", "longer than usual for it (every 12"),
        ({"description": "x" * 201}, "description", "at most 200"),
    ],
)
def test_mistakes_stand_at_their_field_and_nothing_is_written(
    desk: Desk,
    browse_as: BrowseAs,
    world: World,
    address: str,
    kettle: dict[str, str],
    typed: dict[str, str],
    field: str,
    sentence: str,
) -> None:
    sent = kettle | {"serial": "S-9", "new_location": ""} | typed
    answer = browse_as(world.technician).post(address, sent)
    assert answer.status_code == 422
    assert f'id="f-{field}-mistake"' in answer.text
    assert sentence in words_of(answer)
    assert fields_of(answer)["serial"] == "S-9"
    with desk.reading_only() as session:
        assert len(list_items(session, world.premises_id)) == 3


def test_a_new_location_is_not_kept_when_the_item_is_not(
    browse_as: BrowseAs, world: World, address: str, kettle: dict[str, str]
) -> None:
    browse = browse_as(world.technician)
    assert browse.post(address, kettle | {"number": "0001", "new_location": "Loft"}).status_code == 422
    assert "Loft" not in words_of(browse.get(f"/premises/{world.premises_id}/locations"))


def test_places_and_types_of_others_are_not_taken(
    browse_as: BrowseAs, world: World, address: str, kettle: dict[str, str]
) -> None:
    browse = browse_as(world.technician)
    foreign = browse.post(address, kettle | {"location_id": str(world.other_location_id)})
    assert foreign.status_code == 422
    assert browse.post(address, kettle | {"equipment_type_id": "999999"}).status_code == 404
    assert browse.post("/premises/999999/items", kettle).status_code == 404
    assert browse.get(f"{address}/new", params={"like": "999999"}).status_code == 404


def test_premises_without_a_location_take_the_first_one_with_the_first_item(
    desk: Desk, browse_as: BrowseAs, world: World, kettle: dict[str, str]
) -> None:
    with desk.doing(world.office) as deed:
        customer = customers.add_customer(deed, CustomerDetails("Fellside Joinery"))
        place = premises.add_premises(deed, customer.id, PremisesDetails("Workshop", "Unit 7"))
    browse = browse_as(world.technician)
    here = f"/premises/{place.id}/items"
    assert fields_of(browse.get(f"{here}/new"))["number"] == "0001"
    bare = kettle | {"number": "", "location_id": ""}
    assert browse.post(here, bare).status_code == 422
    assert browse.post(here, bare | {"new_location": "Machine shop"}).status_code == 303
    assert "Machine shop 1" in words_of(browse.get(f"/premises/{place.id}"))


def test_the_suggested_interval_stands_in_the_form_with_its_source(
    browse_as: BrowseAs, world: World, address: str
) -> None:
    # HSE INDG236: earthed Class I equipment, combined inspection and test every 1 to 2 years.
    words = words_of(browse_as(world.office).get(f"{address}/new", params={"type": world.equipment_type_id}))
    assert "Left empty, the suggested 12 months hold." in words
    assert "1 to 2 years" in words
    assert "HSE INDG236" in words


def test_a_change_is_kept_once(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, here = browse_as(world.technician), f"/items/{world.item_ids[0]}"
    form = browse.get(f"{here}/edit")
    shown = fields_of(form)
    assert "hx-get" not in form.text.split("<main", 1)[1].split("</select>")[0]
    assert browse.post(here, shown | {"cord_length_m": "2"}).status_code == 303
    assert browse.post(here, shown | {"cord_length_m": "3"}).status_code == 409
    with desk.reading_only() as session:
        row = get_item(session, world.item_ids[0])
        assert row.facts.cord is not None
        assert row.facts.cord.length_m == Decimal(2)
    assert "Changed item 0001: cord length m." in words_of(browse.get(here))


def test_another_interval_moves_the_next_due_date(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(None) as deed:
        row = get_item(deed.session, world.item_ids[0])
        row.last_tested_on, row.last_verdict, row.next_due_on = date(2025, 8, 31), "pass", date(2026, 8, 31)
    browse, here = browse_as(world.office), f"/items/{world.item_ids[0]}"
    form = browse.get(f"{here}/edit")
    assert f'href="{here}/interval"' in form.text and "dutyholder, has to keep it safe" in words_of(form)
    shown = fields_of(form)
    assert "interval_months" not in shown
    # The form has no such field any more; one that sends it all the same is told where it belongs.
    refused = browse.post(here, shown | {"interval_months": "120", "interval_reason": "because"})
    assert refused.status_code == 422 and "on the item's own page for it" in words_of(refused)
    asked = {"version": shown["version"], "months": "6", "reason": "Used in the wet"}
    assert browse.post(f"{here}/interval", asked).status_code == 303
    # Six calendar months after the last day of August is the last day of February: common practice, no source.
    words = words_of(browse.get(here))
    assert "Next due 28 Feb 2026 overdue , combined inspection and test" in words
    assert "Every 6 months, set for this item: Used in the wet." in words
    shown = fields_of(browse.get(f"{here}/edit"))
    assert browse.post(here, shown | {"make": "Corrie"}).status_code == 303
    assert "Every 6 months, set for this item: Used in the wet." in words_of(browse.get(here))
    asked = {"months": "", "reason": "Dry now", "all_the_same": "yes"}
    assert browse.post(f"{here}/interval", asked).status_code == 303
    # HSE INDG236, earthed Class I: 1 to 2 years, of which Ohmstead begins with the shorter.
    assert "Next due 31 Aug 2026" in words_of(browse.get(here))


def test_an_item_never_tested_gets_no_due_date_from_an_interval(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, here = browse_as(world.office), f"/items/{world.item_ids[0]}"
    assert browse.post(f"{here}/interval", {"months": "6", "reason": "Wet"}).status_code == 303
    with desk.reading_only() as session:
        assert get_item(session, world.item_ids[0]).next_due_on is None


def test_numbers_go_on_over_all_premises_of_the_customer(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(world.office) as deed:
        place = premises.add_premises(deed, world.customer_id, PremisesDetails("Nursery", "2 High Street"))
        hall = premises.add_location(deed, place.id, "Hall")
        items.add_item(deed, ItemDetails("0041", "Kettle", hall.id, facts=KETTLE))
    shown = fields_of(browse_as(world.technician).get(f"/premises/{world.premises_id}/items/new"))
    assert shown["number"] == "0042"
