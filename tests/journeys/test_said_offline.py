"""What is said beside a reading goes along without the network: at which outlet the polarity is wrong, and why one
check stands in for another.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from playwright.sync_api import expect

from app.actions import items
from app.rules.equipment import Cord, Kind
from app.rules.items import ItemDetails
from app.store.items import get_item
from app.store.readings import get_visit_item
from tests.browser import OpenPage
from tests.cast import LEAD
from tests.journeys.tablets import EARTH, Office, make_office, open_pack, send_all, sign_in, waiting
from tests.networks import Network
from tests.standing import StandingOffice


@pytest.fixture
def office(standing: StandingOffice) -> Office:
    """The small firm, its third item being a block of four outlets."""
    office = make_office(standing.desk, 3)
    block = replace(LEAD, kind=Kind.MULTIWAY_LEAD, outlets=4, cord=Cord(Decimal("1.25"), Decimal(2)))
    with standing.desk.doing(office.world.owner) as deed:
        item = get_item(deed.session, office.world.item_ids[2])
        items.change_item(
            deed, item.id, ItemDetails(item.number, "Extension lead", item.location_id, facts=block), item.version
        )
    return office


def test_an_outlet_and_a_reason_are_named_without_the_network(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    sign_in(page)
    open_pack(page, office.world)
    network.up = False
    page.locator(".item-row", has_text="0003").click()
    page.get_by_role("radio", name="All points satisfactory").check()
    for outlet in (1, 2, 3, 4):
        page.locator(f"{EARTH}-{outlet}").fill("0.12")
    page.get_by_role("radio", name="Crossed or broken").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#f-polarity-mistake")).to_contain_text("Mark each outlet that is crossed or broken.")
    page.get_by_role("checkbox", name="Outlet 3").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#after")).to_contain_text("On this tablet: 0003 Extension lead, fail")

    page.get_by_role("link", name="All items").first.click()
    page.locator(".item-row", has_text="0001").click()
    page.get_by_role("radio", name="All points satisfactory").check()
    page.locator(EARTH).fill("0.09")
    for fold in page.locator("details.step-more:not([open])").all():
        fold.locator("> summary").click()
    page.locator("#f-substitute-leakage-current").fill("0.4")
    page.get_by_role("button", name="The insulation test could harm it").first.click()
    expect(page.locator("#so-far")).to_have_attribute("data-verdict", "pass")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#after")).to_contain_text("On this tablet: 0001 Kettle, pass")
    assert waiting(page) == 2

    network.up = True
    send_all(page)
    with office.desk.reading_only() as session:
        block = get_visit_item(session, office.world.visit_id, office.world.item_ids[2])
        crossed = [(each.point, each.outcome) for each in block.readings if each.check == "polarity"]
        kettle = get_visit_item(session, office.world.visit_id, office.world.item_ids[0])
        why = [each.note for each in kettle.readings if each.check == "substitute-leakage-current"]
    assert crossed == [("outlet 3", "fail")]
    assert why == ["the insulation test could harm it"]
