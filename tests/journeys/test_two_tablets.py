"""Two tablets on one visit, one without the network: nothing lost, nothing twice, every conflict shown and decided."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser import OpenPage
from tests.journeys.tablets import INSULATION, Office, enter, make_office, open_pack, send_all, sign_in, waiting
from tests.networks import Network, network_before
from tests.standing import StandingOffice


@pytest.fixture
def office(standing: StandingOffice) -> Office:
    return make_office(standing.desk, 6)


@pytest.fixture
def networks(office: Office, standing: StandingOffice) -> Iterator[tuple[Network, Network]]:
    with network_before(standing.app.address) as one, network_before(standing.app.address) as two:
        yield one, two


def open_item(page: Page, number: str) -> None:
    page.locator("#find-number").fill(number)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(number)


def add_item(page: Page, number: str) -> None:
    page.get_by_role("link", name="All items").first.click()
    page.get_by_role("link", name="New item", exact=True).click()
    page.get_by_role("button", name="Kettle").click()
    expect(page.get_by_label("Item number")).to_have_value(number)
    page.get_by_role("button", name="Add and open").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"{number} Kettle")


def test_conflicts_of_two_tablets_are_shown_and_decided(
    office: Office, networks: tuple[Network, Network], open_page: OpenPage
) -> None:
    away, near = (open_page("tablet", base_url=network.address) for network in networks)
    sign_in(away)
    open_pack(away, office.world)
    networks[0].up = False
    open_item(away, "0001")
    enter(away, "11")
    enter(away, "12")
    add_item(away, "0007")
    enter(away, "17")

    sign_in(near, "bea")
    open_pack(near, office.world)
    open_item(near, "0001")
    enter(near, "91")
    open_item(near, "0003")
    enter(near, "93")
    add_item(near, "0007")
    enter(near, "97")
    send_all(near)

    networks[0].up = True
    away.evaluate("window.dispatchEvent(new Event('online'))")
    strip = away.locator("#tablet-strip")
    expect(strip).to_contain_text("2 refused by the office", timeout=30_000)
    assert office.values() == {
        "0001": "91",
        "0002": "12",
        "0003": "93",
        "0004": "",
        "0005": "",
        "0006": "",
        "0007": "97",
    }

    # The same item, saved by both: both values are shown, and the person chooses.
    strip.get_by_role("button", name="Show entries").click()
    entries = away.locator("#tablet-entries")
    entries.locator("li", has_text="0001 Kettle").get_by_role("link", name="Look at it").click()
    both = away.locator(".tablet-both")
    expect(both).to_contain_text("At the office, by Bea Holm")
    expect(both.locator("tr", has_text="91")).to_contain_text("11")
    both.get_by_role("button", name="Save mine in its place").click()
    send_all(away, left=2)
    assert office.values()["0001"] == "11"

    # The same number for two new items: the number is given anew, and the readings follow the item.
    strip.get_by_role("button", name="Show entries").click()
    entries.locator("li", has_text="new item").get_by_role("link", name="Look at it").click()
    expect(away.locator("#notice")).to_contain_text("Item 0007 is there already: Kettle")
    away.get_by_label("Item number").fill("0008")
    away.get_by_role("button", name="Add and open").click()
    expect(away.get_by_role("heading", level=1)).to_have_text("0008 Kettle")
    expect(strip).to_be_hidden(timeout=30_000)
    assert waiting(away) == 0
    assert office.values() == {
        "0001": "11", "0002": "12", "0003": "93", "0004": "", "0005": "", "0006": "", "0007": "97", "0008": "17",
    }  # fmt: skip
    open_item(away, "0008")
    expect(away.locator(INSULATION)).to_have_value("17")


def test_leaving_correcting_and_locking_without_the_network(
    office: Office, networks: tuple[Network, Network], open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=networks[0].address)
    sign_in(page)
    open_pack(page, office.world)
    networks[0].up = False
    open_item(page, "0001")
    page.get_by_role("radio", name="All points satisfactory").check()
    page.locator("#f-protective-conductor-resistance").fill("0.21")
    # 0.139 Ω: 0.1 + 1.5 m × 0.0260 Ω/m (IEC 60228 class 5, 0.75 mm²).
    expect(page.locator("#f-protective-conductor-resistance-verdict")).to_contain_text("0.071\u00a0Ω over")
    expect(page.locator("[data-check='insulation-resistance']")).to_contain_text("stop here, do not energise the item")
    expect(page.locator(INSULATION)).to_be_hidden()
    page.get_by_role("button", name="Save and next").click()
    expect(page.locator("#after")).to_contain_text("Take it out of use now")
    page.get_by_role("link", name="Correct it").click()
    expect(page.locator("#f-protective-conductor-resistance")).to_have_value("0.21")
    page.locator("#f-protective-conductor-resistance").fill("0.12")
    page.locator(INSULATION).fill("55 MΩ")
    page.get_by_role("radio", name="Works as it should").check()
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("0002 Drill")
    page.locator("#leave summary").click()
    page.get_by_role("button", name="Not found").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("0003 Extension lead")
    assert waiting(page) == 3
    networks[0].up = True
    send_all(page)
    assert office.recorded()["0001"] == 2, "the correction is kept beside what was first found"
    assert office.values()["0001"] == "55"
    assert office.left() == {"0002": "not found"}
