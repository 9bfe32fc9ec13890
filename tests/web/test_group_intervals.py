"""One decision with one reason for all ticked items of a group, from the evidence on; in one transaction."""

import re

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.items import move_item
from app.actions.premises import add_location, add_premises
from app.actions.readings import leave_item, record_item
from app.rules.customers import PremisesDetails
from app.rules.equipment import Environment
from app.rules.visits import NotTested
from app.store.items import get_item
from tests.cast import BrowseAs, Clock, World
from tests.rising_readings import kettle_entries, visit_repeatedly
from tests.web.page_text import words_of


@pytest.fixture
def address(desk: Desk, world: World) -> str:
    """The group of the school's kettles: all three of its items count as kettles here."""
    with desk.doing(world.owner) as deed:
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).equipment_type_id = world.equipment_type_id
    return f"/evidence/{world.customer_id}/{world.equipment_type_id}/school"


def ticks(text: str) -> dict[str, str]:
    """The ticked boxes of the page, as a browser sends them."""
    return dict(re.findall(r'name="(item-\d+)" value="(\d+)" checked', text))


def months_of(desk: Desk, world: World) -> list[int | None]:
    with desk.reading_only() as session:
        return [get_item(session, each).interval_months for each in (*world.item_ids, *world.other_item_ids)]


def test_the_evidence_leads_to_the_group(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock, address: str
) -> None:
    visit_repeatedly(desk, world, clock, ["0.06"])
    assert f'href="{address}?years=5"' in browse_as(world.office).get("/evidence?years=5").text
    text = words_of(browse_as(world.office).get(f"{address}?years=5"))
    assert "Kettle at Brackenhow Primary School, school, over 5 years: 0 of 1 failed" in text


def test_one_reason_holds_for_all_that_are_ticked(browse_as: BrowseAs, world: World, desk: Desk, address: str) -> None:
    office = browse_as(world.office)
    sent = ticks(office.get(address).text)
    assert sent.keys() == {f"item-{item_id}" for item_id in world.item_ids}
    sent.pop(f"item-{world.item_ids[1]}")
    answer = office.post(address, sent | {"months": "6", "reason": "Dropped a lot", "handling": "harsh"})
    assert answer.status_code == 303
    assert "Decided for 2 items" in words_of(office.get(answer.headers["location"].split("#")[0]))
    assert months_of(desk, world) == [6, None, 6, None, None, None]
    history = words_of(office.get(f"/items/{world.item_ids[2]}/interval"))
    assert "Dropped a lot" in history and "for 2 items alike" in history and "Carried about" in history


def test_longer_on_too_little_is_warned_of_once(browse_as: BrowseAs, world: World, desk: Desk, address: str) -> None:
    office = browse_as(world.office)
    sent = ticks(office.get(address).text) | {"months": "60", "reason": "Seldom used"}
    answer = office.post(address, sent)
    assert answer.status_code == 422
    assert words_of(answer).count("no evidence for a longer interval") == 1
    assert set(months_of(desk, world)) == {None}
    assert office.post(address, sent | {"all_the_same": "yes"}).status_code == 303
    assert months_of(desk, world)[:3] == [60, 60, 60]


def test_a_chosen_span_is_kept_and_held_against_all_records(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock, address: str
) -> None:
    """1 of 1 failed four years ago, 0 of 1 in the last year; over all records an item counts once, as failed."""
    failing = kettle_entries("0.3")[:2]
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], failing, remedy="Replace the cord.")
        for item_id in world.item_ids[1:]:
            leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    clock.pass_time(days=1400)
    visit_repeatedly(desk, world, clock, ["0.06"])
    office = browse_as(world.office)
    page = words_of(office.get(f"{address}?years=1"))
    assert "over 1 year: 0 of 1 failed" in page and "Over all records: 1 of 1 failed" in page
    sent = ticks(office.get(address).text) | {"months": "24", "reason": "Seldom used", "years": "1"}
    answer = office.post(address, sent)
    assert answer.status_code == 422 and "too few to lengthen" in words_of(answer)
    assert "Over all records the evidence says less for it" in words_of(answer)
    assert office.post(address, sent | {"all_the_same": "yes"}).status_code == 303
    history = words_of(office.get(f"/items/{world.item_ids[0]}/interval"))
    assert "over 1 year: 0 of 1 failed" in history and "Over all records: 1 of 1 failed" in history


def test_nothing_ticked_and_no_reason_are_said_together(browse_as: BrowseAs, world: World, address: str) -> None:
    answer = browse_as(world.office).post(address, {"months": "6"})
    assert answer.status_code == 422
    assert "Tick the items" in words_of(answer) and "Say why; the history keeps it." in words_of(answer)


def test_another_customers_items_cannot_be_named(browse_as: BrowseAs, world: World, desk: Desk, address: str) -> None:
    sent = {f"item-{item_id}": "1" for item_id in world.other_item_ids}
    answer = browse_as(world.office).post(address, sent | {"months": "6", "reason": "x"})
    assert answer.status_code == 422 and "Tick the items" in words_of(answer)
    assert set(months_of(desk, world)) == {None}


def test_what_somebody_changed_meanwhile_stops_all(browse_as: BrowseAs, world: World, desk: Desk, address: str) -> None:
    office = browse_as(world.office)
    sent = ticks(office.get(address).text)
    with desk.doing(world.owner) as deed:
        get_item(deed.session, world.item_ids[2]).notes = "Moved to the hall"
    assert office.post(address, sent | {"months": "6", "reason": "x"}).status_code == 409
    assert set(months_of(desk, world)) == {None}


def test_a_group_can_be_narrowed_to_one_premises(browse_as: BrowseAs, world: World, desk: Desk, address: str) -> None:
    with desk.doing(world.owner) as deed:
        place = PremisesDetails("Annexe", "2 High Street", "ZZ1 1AB", Environment.SCHOOL, "")
        annexe = add_premises(deed, world.customer_id, place)
        move_item(deed, world.item_ids[0], add_location(deed, annexe.id, "Office").id)
    office = browse_as(world.office)
    assert len(ticks(office.get(address).text)) == 3
    narrowed = ticks(office.get(f"{address}?premises={annexe.id}").text)
    assert narrowed.keys() == {f"item-{world.item_ids[0]}"}
    fields = {"months": "3", "reason": "Damp", "premises": str(annexe.id)}
    answer = office.post(address, {f"item-{each}": "" for each in world.item_ids} | narrowed | fields)
    assert answer.headers["location"].endswith(f"&premises={annexe.id}#items")
    assert months_of(desk, world)[:3] == [3, None, None]


def test_words_that_are_no_place_and_empty_groups(browse_as: BrowseAs, world: World, address: str) -> None:
    office = browse_as(world.office)
    assert office.get(address.replace("school", "moon")).status_code == 404
    assert office.get("/evidence/999/1/school").status_code == 404
    assert "No such item here" in words_of(office.get(address.replace("school", "office")))
    assert browse_as(world.technician).get(address).status_code == 403
