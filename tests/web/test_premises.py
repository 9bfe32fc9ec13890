"""Premises: the register with its filters and counts, the details of the address, and the locations."""

from datetime import timedelta

import pytest

from app.actions import items
from app.actions.deeds import Desk
from app.rules.items import ItemDetails
from app.store.items import get_item
from tests.cast import KETTLE, BrowseAs, World
from tests.web.page_text import fields_of, words_of


@pytest.fixture
def address(world: World) -> str:
    return f"/premises/{world.premises_id}"


def test_the_register_stands_by_location(browse_as: BrowseAs, world: World, address: str) -> None:
    browse = browse_as(world.technician)
    assert browse.post(f"{address}/locations", {"name": "Hall"}).status_code == 303
    hall = browse.get(f"{address}/locations").text.split("?location=")[-1].split('"')[0]
    browse.post(f"/items/{world.item_ids[0]}/move", {"location_id": hall})
    words = words_of(browse.get(address))
    assert words.index("Staff room 2") < words.index("0002 Drill") < words.index("Hall 1") < words.index("0001 Kettle")


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"q": "kettle"}, {"0001"}),
        ({"q": "staff 0003"}, {"0003"}),
        ({"class": "II"}, {"0002"}),
        ({"class": "I", "q": "lead"}, {"0003"}),
        ({"state": "withdrawn"}, set()),
        ({"state": "untested"}, {"0001", "0002", "0003"}),
        ({"state": "overdue"}, set()),
        ({"state": "no such state"}, {"0001", "0002", "0003"}),
        ({"location": "not a number"}, {"0001", "0002", "0003"}),
        ({"location": "999999"}, set()),
        ({"from": "77"}, {"0003"}),
        ({"q": "%"}, set()),
    ],
)
def test_the_filters(browse_as: BrowseAs, world: World, address: str, asked: dict[str, str], found: set[str]) -> None:
    answer = browse_as(world.technician).get(address, params=asked)
    assert answer.status_code == 200
    table = words_of(answer)
    assert {number for number in ("0001", "0002", "0003") if number in table} == found
    assert ("No item matches" in table) == (not found)


def test_the_type_is_a_filter_too(desk: Desk, browse_as: BrowseAs, world: World, address: str) -> None:
    details = ItemDetails("", "Blue kettle", world.location_id, world.equipment_type_id, facts=KETTLE)
    with desk.doing(world.office) as deed:
        items.add_item(deed, details)
    words = words_of(browse_as(world.office).get(address, params={"type": world.equipment_type_id}))
    assert "0004 Blue kettle" in words
    assert "0001" not in words


def test_what_is_due_is_counted_and_shown(desk: Desk, browse_as: BrowseAs, world: World, address: str) -> None:
    days = (-1, 0, 30)
    with desk.doing(None) as deed:
        for item_id, left in zip(world.item_ids, days, strict=True):
            row = get_item(deed.session, item_id)
            row.last_tested_on, row.next_due_on = deed.today - timedelta(days=365), deed.today + timedelta(days=left)
    browse = browse_as(world.office)
    words = words_of(browse.get(address))
    assert "3 items 1 overdue 2 due in 30 days" in words
    assert "not tested yet" not in words.split("Search")[0]
    assert "3 Mar 2026 overdue" in words
    overdue = words_of(browse.get(address, params={"state": "overdue"}))
    assert ("0001" in overdue, "0002" in overdue) == (True, False)
    soon = words_of(browse.get(address, params={"state": "soon"}))
    assert ("0001" in soon, "0002" in soon, "0003" in soon) == (False, True, True)


def test_only_the_office_books_from_here(browse_as: BrowseAs, world: World, address: str) -> None:
    book = f"/visits/new?premises={world.premises_id}"
    assert book in browse_as(world.office).get(address).text
    technician = browse_as(world.technician).get(address).text
    assert book not in technician
    assert f"{address}/edit" not in technician
    assert f"{address}/items/new" in technician


def test_premises_are_added_and_changed(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    form = browse.get(f"/customers/{world.customer_id}/premises/new")
    assert fields_of(form)["address"] == "1 High Street\nMillbeck"
    wrong = browse.post(f"/customers/{world.customer_id}/premises", {"environment": "castle"})
    assert wrong.status_code == 422
    for sentence in ("Give the premises a name.", "Give the address", "Choose one of these."):
        assert sentence in words_of(wrong)
    fields = {"name": "Nursery", "address": "2 High Street", "postcode": "zz1 1ab", "environment": "school"}
    answer = browse.post(f"/customers/{world.customer_id}/premises", fields)
    assert answer.status_code == 303
    here = answer.headers["location"]
    assert "Begin with the locations" in words_of(browse.get(here))
    kept = fields_of(browse.get(f"{here}/edit"))
    assert kept["postcode"] == "ZZ1 1AB"
    assert browse.post(here, kept | {"access_notes": "Ask at the gate"}).status_code == 303
    assert "Ask at the gate" in words_of(browse.get(here))
    assert browse.post(here, kept | {"name": "Old copy"}).status_code == 409


def test_a_location_is_named_once_and_removed_only_while_nothing_was_there(
    browse_as: BrowseAs, world: World, address: str
) -> None:
    browse = browse_as(world.office)
    for name, sentence in (("", "Give the location a name."), ("STAFF ROOM", "has a location of this name already.")):
        answer = browse.post(f"{address}/locations", {"name": name})
        assert answer.status_code == 422
        assert sentence in words_of(answer)
    answer = browse.post(f"/locations/{world.location_id}/remove")
    assert answer.status_code == 409
    assert "There are or were items at Staff room." in words_of(answer)
    browse.post(f"{address}/locations", {"name": "Attic"})
    attic = browse.get(f"{address}/locations").text.split("?location=")[-1].split('"')[0]
    assert browse.post(f"/locations/{attic}", {"name": "Staff room"}).status_code == 422
    assert browse.post(f"/locations/{attic}", {"name": "Loft"}).status_code == 303
    assert fields_of(browse.get(f"/locations/{attic}/edit"))["name"] == "Loft"
    assert browse.post(f"/locations/{attic}/remove").status_code == 303
    assert "Loft" not in words_of(browse.get(f"{address}/locations"))
