"""One item, whole: its test sequence with limits, what was recorded, and what can be done with it."""

from decimal import Decimal

import pytest

from app.actions import items, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd
from app.rules.items import ItemDetails, ItemState
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Outcome
from app.store.items import get_item
from tests.cast import BrowseAs, World
from tests.web.page_text import words_of


@pytest.fixture
def kettle(world: World) -> str:
    return f"/items/{world.item_ids[0]}"


def test_the_sequence_shows_each_limit_with_its_working(browse_as: BrowseAs, world: World, kettle: str) -> None:
    words = words_of(browse_as(world.technician).get(kettle))
    # IEC 60228 class 5, 0.75 mm²: 26.0 mΩ/m, so 0.1 + 1.5 m × 0.0260 Ω/m = 0.139 Ω.
    assert "At most 0.139 Ω = 0.1 + 1.5 m × 0.0260 Ω/m (IEC 60228, 0.75 mm²)." in words
    # UK Code of Practice, 4th edition, as quoted by training pages: Class I at least 1 MΩ.
    assert "At least 1 MΩ" in words
    sequence = ("1. Visual inspection", "2. Protective conductor resistance", "3. Insulation resistance")
    order = [words.index(step) for step in sequence]
    assert order == sorted(order)
    assert "Class I · Appliance · 1.5 m, 0.75 mm² · 13 A fuse · 2200 W, heating" in words


def test_every_trip_test_of_an_rcd_shows_its_time(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    facts = ItemFacts(
        Kind.RCD_LEAD, cord=Cord(Decimal("1.5"), Decimal(10)), fuse_a=Decimal(13), rcd=Rcd(Decimal(30), "BS 7288")
    )
    with desk.doing(world.office) as deed:
        row = items.add_item(deed, ItemDetails("", "Garden lead", world.location_id, facts=facts))
    words = words_of(browse_as(world.technician).get(f"/items/{row.id}"))
    # BS 7288: 200 ms at the rated current, 40 ms at five times it; at half of it no trip.
    assert "0.5 × at 0°: must not trip." in words
    assert "1 × at 180°: at most 200 ms." in words
    assert "5 × at 0°: at most 40 ms." in words


def test_class_ii_has_no_protective_conductor_to_prove(browse_as: BrowseAs, world: World) -> None:
    words = words_of(browse_as(world.technician).get(f"/items/{world.item_ids[1]}"))
    assert "Protective conductor resistance" not in words
    assert Construction.CLASS_II.word in words


def test_what_was_recorded_stands_with_reading_verdict_and_defect(
    desk: Desk, browse_as: BrowseAs, world: World, kettle: str
) -> None:
    entries = [
        Entry(Check.VISUAL, outcome=Outcome.PASS),
        Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal("0.21"), Unit.OHM, Bound.EXACT)),
    ]
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], entries)
    page = browse_as(world.technician).get(kettle)
    words = words_of(page)
    # 0.21 Ω against 0.139 Ω (IEC 60228): 0.071 Ω over.
    assert "0.21 Ω, at most 0.139 Ω" in words
    assert "0.071 Ω over" in words
    assert "Out of use: Failed at the visit of 4 March 2026." in words
    assert "Open defects" in words
    assert "Recorded item 0001: fail." in words
    assert f'href="/visits/{world.visit_id}"' in page.text
    assert f'href="/visits/{world.visit_id}/items/{world.item_ids[0]}"' in page.text


def test_a_copy_takes_the_next_number_and_its_own_serial(browse_as: BrowseAs, world: World, kettle: str) -> None:
    browse = browse_as(world.technician)
    answer = browse.post(f"{kettle}/copy", {"number": "", "serial": "S-2"})
    words = words_of(browse.get(answer.headers["location"]))
    assert "0004 Kettle" in words
    assert "Serial number S-2" in words
    taken = browse.post(f"{kettle}/copy", {"number": "0002"})
    assert taken.status_code == 422
    assert "Item 0002 is there already" in words_of(taken)
    assert '<details class="confirm" open>' in taken.text


def test_a_move_goes_to_places_of_the_same_customer_only(browse_as: BrowseAs, world: World, kettle: str) -> None:
    browse = browse_as(world.technician)
    assert browse.post(f"{kettle}/move", {"location_id": ""}).status_code == 422
    assert browse.post(f"{kettle}/move", {"location_id": "999999"}).status_code == 404
    refused = browse.post(f"{kettle}/move", {"location_id": str(world.other_location_id)})
    assert refused.status_code == 409
    assert "cannot move to another customer" in words_of(refused)
    browse.post(f"/premises/{world.premises_id}/locations", {"name": "Hall"})
    hall = browse.get(kettle).text.split("main site: Hall")[0].split('value="')[-1].split('"')[0]
    assert browse.post(f"{kettle}/move", {"location_id": hall}).status_code == 303
    assert "Moved item 0001 to Hall" in words_of(browse.get(kettle))


def test_out_of_use_and_withdrawn_need_a_reason(desk: Desk, browse_as: BrowseAs, world: World, kettle: str) -> None:
    browse = browse_as(world.office)
    for deed in ("out-of-use", "withdraw"):
        answer = browse.post(f"{kettle}/{deed}", {"reason": "  "})
        assert answer.status_code == 422
        assert "Say why; the register keeps it." in words_of(answer)
        assert answer.text.count('id="f-reason"') == 1
    assert browse.post(f"{kettle}/out-of-use", {"reason": "Lid broken"}).status_code == 303
    words = words_of(browse.get(kettle))
    assert "Out of use: Lid broken. It comes back into use when it passes at a visit." in words
    assert browse.post(f"{kettle}/out-of-use", {"reason": "Again"}).status_code == 409
    assert browse.post(f"{kettle}/withdraw", {"reason": "Scrapped"}).status_code == 303
    page = browse.get(kettle)
    assert "Withdrawn: Scrapped. It is off the register" in words_of(page)
    assert f"{kettle}/edit" not in page.text
    assert "0001" not in words_of(browse.get(f"/premises/{world.premises_id}"))
    assert "0001" in words_of(browse.get(f"/premises/{world.premises_id}", params={"state": "withdrawn"}))
    with desk.reading_only() as session:
        assert get_item(session, world.item_ids[0]).state == ItemState.WITHDRAWN


def test_a_technician_is_not_offered_to_withdraw(browse_as: BrowseAs, world: World, kettle: str) -> None:
    technician = browse_as(world.technician)
    assert f"{kettle}/withdraw" not in technician.get(kettle).text
    assert technician.post(f"{kettle}/withdraw", {"reason": "x"}).status_code == 403
    assert "£" not in technician.get(kettle).text


def test_what_is_typed_is_never_markup(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.technician)
    nasty = "<script>alert(1)</script>"
    fields = {"description": nasty, "location_id": str(world.location_id), "make": nasty, "serial": '"><b>'}
    answer = browse.post(f"/premises/{world.premises_id}/items", fields)
    for address in (answer.headers["location"], f"/premises/{world.premises_id}", f"{answer.headers['location']}/edit"):
        page = browse.get(address).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert(1)" in page
