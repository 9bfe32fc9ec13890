"""The pages of items put right on the spot, of two people on one visit, of a taken number, of a reopened visit."""

import pytest

from app.actions.deeds import Desk
from app.rules.visits import NotTested
from tests.cast import BrowseAs, World
from tests.web.firm_at_work import FirmAtWork
from tests.web.page_text import fields_of
from tests.web.visit_sheets import GOOD_DRILL, GOOD_KETTLE, begin, kept, sheet_of, version_on

FAILED = {"visual": "defect", "defect-plug-fuse": "yes", "note-plug-fuse": "13 A, too large for the cord"}


def failed(desk: Desk, world: World, browse_as: BrowseAs) -> tuple:  # type: ignore[type-arg]
    begin(desk, world)
    browse, address = browse_as(world.technician), sheet_of(world, 1)
    browse.post(address, FAILED | version_on(browse, address))
    return browse, address


def test_an_item_is_put_right_and_tested_again(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    browse, address = failed(desk, world, browse_as)
    assert "Put right on the spot" in browse.get(address).text
    answer = browse.post(f"{address}/put-right", {"change": "fuse", "new_fuse_a": "3"} | version_on(browse, address))
    assert answer.status_code == 303
    page = browse.get(address).text
    assert "Found first" in page
    assert "Now test it again from the start" in page
    assert fields_of(browse.get(address)).get("visual", "") == ""
    browse.post(address, GOOD_DRILL | version_on(browse, address))
    assert kept(desk, world, 1)[0] == "pass"
    page = browse.get(f"/visits/{world.visit_id}").text
    assert "Put right on the spot" in page
    assert "fuse changed to 3" in page.replace("\u00a0", " ")
    assert "Found first" in browse.get(f"/items/{world.item_ids[1]}").text


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({}, "change"),
        ({"change": "fuse"}, "new_fuse_a"),
        ({"change": "fuse", "new_fuse_a": "x"}, "new_fuse_a"),
        ({"change": "cord", "new_csa_mm2": "0.75", "new_length_m": "-2"}, "new_length_m"),
        ({"change": "other", "put_right_words": " "}, "put_right_words"),
        ({"change": "nothing"}, "change"),
    ],
)
def test_mistakes_stand_beside_their_fields(
    desk: Desk, world: World, browse_as: BrowseAs, sent: dict[str, str], field: str
) -> None:
    browse, address = failed(desk, world, browse_as)
    answer = browse.post(f"{address}/put-right", sent | version_on(browse, address))
    assert answer.status_code == 422
    assert f'id="f-{field}' in answer.text
    assert kept(desk, world, 1)[0] == "fail"


def test_it_is_taken_back(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    browse, address = failed(desk, world, browse_as)
    browse.post(f"{address}/put-right", {"change": "plug"} | version_on(browse, address))
    assert browse.post(f"{address}/put-right/take-back", version_on(browse, address)).status_code == 303
    assert kept(desk, world, 1)[0] == "fail"


def test_both_savings_are_shown_side_by_side(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    joss, bea, address = browse_as(world.technician), browse_as(world.office), sheet_of(world)
    opened = version_on(joss, address)
    bea.post(address, GOOD_KETTLE | version_on(bea, address))
    answer = joss.post(address, GOOD_KETTLE | {"protective-conductor-resistance": "0.12", "note": "warm"} | opened)
    assert answer.status_code == 409
    assert "Saved by Bea Holm" in answer.text
    rows = answer.text.split('id="differences"')[1].split("</table>")[0]
    assert rows.index("0.11") < rows.index("0.12")
    assert "warm" in rows
    assert "nsulation" not in rows, "what both say is not listed"
    assert fields_of(answer)["protective-conductor-resistance"] == "0.12"
    again = fields_of(answer)
    assert joss.post(address, again).status_code == 303
    assert kept(desk, world)[0] == "pass"


def test_a_reason_typed_on_an_old_page_is_not_lost(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    joss, bea, address = browse_as(world.technician), browse_as(world.office), sheet_of(world)
    opened = version_on(joss, address)
    bea.post(address, GOOD_KETTLE | version_on(bea, address))
    sent = {"reason": NotTested.IN_USE.value, "not_tested_note": "a meeting was on"} | opened
    answer = joss.post(f"{address}/leave", sent)
    assert answer.status_code == 409
    assert answer.text.count("a meeting was on") >= 2
    assert kept(desk, world)[0] == "pass"


def test_the_list_says_what_somebody_else_saved(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    joss, bea, address = browse_as(world.technician), browse_as(world.office), sheet_of(world)
    version = version_on(joss, address)["version"]
    part = f"/visits/{world.visit_id}/parts/groups?current={world.item_ids[0]}&version={version}"
    assert "has changed this item" not in joss.get(part).text
    assert "0</strong> of 3" in joss.get(part).text
    bea.post(address, GOOD_KETTLE | version_on(bea, address))
    answer = joss.get(part).text
    assert "Bea Holm has changed this item since you opened it" in answer
    assert "1</strong> of 3" in answer
    assert f"version={version}" in answer, "the next time still asks about the version that is open"


def test_a_number_that_is_taken_leads_to_its_item(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    browse = browse_as(world.technician)
    part = f"/visits/{world.visit_id}/parts/number?number="
    assert f'href="/visits/{world.visit_id}/find?number=0002"' in browse.get(part + "0002").text
    assert "Drill" in browse.get(part + "0002").text
    assert "<a" not in browse.get(part + "0099").text
    sent = {"number": "0002", "description": "Kettle", "location_id": str(world.location_id), "kind": "appliance"}
    answer = browse.post(f"/visits/{world.visit_id}/items", sent)
    assert answer.status_code == 422
    assert f'href="/visits/{world.visit_id}/find?number=0002"' in answer.text


def test_another_like_this_copies_the_facts_and_keeps_the_location(
    desk: Desk, world: World, browse_as: BrowseAs
) -> None:
    begin(desk, world)
    browse = browse_as(world.technician)
    fields = fields_of(browse.get(f"/visits/{world.visit_id}/items/new?like={world.item_ids[0]}"))
    assert (fields["number"], fields["description"]) == ("0004", "Kettle")
    assert (fields["location_id"], fields["serial"]) == (str(world.location_id), "")
    answer = browse.post(f"/visits/{world.visit_id}/items", fields)
    assert answer.status_code == 303
    assert fields_of(browse.get(answer.headers["location"])).get("visual", "") == ""


def test_the_office_reopens_a_visit_with_a_reason(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    office, visit = firm_at_work.browse("office"), f"/visits/{firm_at_work.finished_id}"
    answer = office.post(f"{visit}/reopen", {"reopen_reason": " "})
    assert (answer.status_code, 'id="f-reopen_reason-mistake"' in answer.text) == (422, True)
    assert firm_at_work.browse("technician").post(f"{visit}/reopen", {"reopen_reason": "x"}).status_code == 403
    assert office.post(f"{visit}/reopen", {"reopen_reason": "Wrong fuse noted"}).status_code == 303
    page = office.get(visit).text
    assert "Wrong fuse noted" in page
    assert "A revised certificate is due once the visit is finished again" in page
    assert "revised certificate" not in firm_at_work.browse("technician").get(visit).text
    firm_at_work.put_back()
