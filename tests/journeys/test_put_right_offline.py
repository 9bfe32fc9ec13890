"""A wrong fuse found, photographed, put right and tested again in a cellar: all of it on the tablet until the network
is back, and then at the office in the order in which it was done.
"""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.store.photos import list_photos_of_visit
from app.store.readings import get_visit_item
from tests.browser import OpenPage
from tests.journeys.tablets import INSULATION, Office, make_office, open_pack, send_all, sign_in, waiting
from tests.networks import Network
from tests.pictures import jpeg_segments, photo
from tests.standing import StandingOffice


@pytest.fixture
def office(standing: StandingOffice) -> Office:
    return make_office(standing.desk, 3)


def fail_the_drill(page: Page, tmp_path: Path) -> None:
    page.locator(".item-row", has_text="0002").click()
    page.get_by_role("radio", name="Defect found").check()
    page.get_by_role("checkbox", name="Fuse: of the right rating").check()
    page.get_by_role("button", name="too large for the cord").click()
    taken = tmp_path / "camera.jpg"
    taken.write_bytes(photo(2400, 1800))
    page.get_by_label("What the next photo shows").fill("13 A in the drill's plug")
    page.locator("#f-photo").set_input_files(taken)
    page.get_by_role("button", name="Save", exact=True).click()


def test_a_fuse_is_put_right_without_the_network(
    office: Office, network: Network, open_page: OpenPage, tmp_path: Path
) -> None:
    page = open_page("tablet", base_url=network.address)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    sign_in(page)
    open_pack(page, office.world)
    network.up = False
    fail_the_drill(page, tmp_path)
    expect(page.locator("#photos li")).to_contain_text("on this tablet")
    expect(page.locator("#photos img")).to_have_js_property("naturalWidth", 320)

    page.get_by_text("Put right on the spot…").click()
    page.get_by_role("button", name="Put right: test it again").click()
    expect(page.locator("#put-right")).to_contain_text("Say what was changed.")
    page.get_by_role("radio", name="Fuse changed").check()
    page.get_by_label("Fuse it has now").fill("3")
    page.get_by_role("button", name="Put right: test it again").click()
    expect(page.locator(".earlier")).to_contain_text("fuse changed to 3 A")
    expect(page.locator(".earlier .verdict")).to_contain_text("fail")
    expect(page.get_by_role("radio", name="Defect found")).not_to_be_checked()
    expect(page.locator('.item-row[aria-current="true"]')).to_contain_text("to test again")

    # Nothing was changed after all: the fail stands again, and so does what was typed.
    page.get_by_role("button", name="Take back: nothing was changed").click()
    expect(page.get_by_role("radio", name="Defect found")).to_be_checked()
    page.get_by_text("Put right on the spot…").click()
    page.get_by_role("radio", name="Fuse changed").check()
    page.get_by_label("Fuse it has now").fill("3")
    page.get_by_role("button", name="Put right: test it again").click()
    page.get_by_role("radio", name="All points satisfactory").check()
    page.locator(INSULATION).fill(">20")
    page.get_by_role("radio", name="Works as it should").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#notice")).to_contain_text("On this tablet: 0002")
    expect(page.locator("#put-right")).to_have_count(0)
    assert waiting(page) == 4

    network.up = True
    send_all(page)
    expect(page.locator(".earlier")).to_contain_text("Found first:")
    expect(page.locator("#photos li[data-entry]")).to_have_count(0)
    expect(page.locator("#photos .photo img")).to_have_count(1)
    with office.desk.reading_only() as session:
        row = get_visit_item(session, office.world.visit_id, office.world.item_ids[1])
        assert (row.verdict, [each.verdict for each in row.rounds]) == ("pass", ["fail"])
        assert row.rounds[0].put_right == "fuse changed to 3 A"
        assert row.item.fuse_a == 3
        (kept,) = list_photos_of_visit(session, office.world.visit_id)[row.id]
        assert (kept.caption, kept.width, kept.height) == ("13 A in the drill's plug", 1600, 1200)
        assert "APP1" not in jpeg_segments(kept.content)
    assert faults == []


def test_finishing_waits_for_what_is_not_sent(office: Office, network: Network, open_page: OpenPage) -> None:
    page = open_page("tablet", base_url=network.address)
    sign_in(page)
    visit = f"/visits/{office.world.visit_id}"
    open_pack(page, office.world)
    for item_id in office.world.item_ids:
        page.goto(f"{visit}/items/{item_id}")
        expect(page.locator("html[data-tablet=ready]")).to_have_count(1)
        page.locator("#leave > summary").click()
        page.get_by_role("button", name="Not found").click()
        expect(page.locator("#notice")).to_contain_text("not tested")
    send_all(page)
    page.goto(f"{visit}/items/{office.world.item_ids[0]}")
    expect(page.locator("html[data-tablet=ready]")).to_have_count(1)
    network.fault = lambda key: "lose"
    page.locator("#leave > summary").click()
    page.get_by_role("button", name="In use and could not be unplugged").click()
    expect(page.locator("#notice")).to_contain_text("On this tablet: 0001")
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto(visit)
    expect(page.locator("#tablet-strip")).to_contain_text("1 entry on this tablet")
    page.get_by_role("button", name="Finish the visit").click()
    expect(page.locator("#notice")).to_contain_text("The visit is not finished: 1 entry of this tablet is not at")
    network.fault = lambda key: ""
    page.get_by_role("button", name="Finish the visit").click()
    expect(page.get_by_text("finished").first).to_be_visible()
    assert office.left()["0001"] == "in use and could not be unplugged"
