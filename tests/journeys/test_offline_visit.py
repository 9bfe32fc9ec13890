"""A visit without the network in a real browser: nothing lost, nothing twice, whatever is killed, lost or doubled."""

from itertools import cycle

import pytest
from playwright.sync_api import expect

from tests.browser import OpenPage
from tests.journeys.tablets import Office, enter, make_office, open_pack, send_all, sign_in, waiting
from tests.networks import Network
from tests.standing import StandingOffice

ITEMS = 60


@pytest.fixture
def office(standing: StandingOffice) -> Office:
    return make_office(standing.desk, ITEMS)


def test_sixty_items_without_the_network_and_none_lost_or_doubled(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    sign_in(page)
    open_pack(page, office.world)
    network.up = False
    page.locator(".item-row").first.click()
    values = [f"{20 + place}.5" for place in range(ITEMS)]
    for place, value in enumerate(values):
        if place in (20, 40):  # a tablet put away and taken out again, without the network
            page.reload()
        enter(page, value)
    assert waiting(page) == ITEMS
    expect(page.locator("#tablet-strip")).to_contain_text(f"{ITEMS} entries on this tablet")
    assert sum(office.recorded().values()) == 0
    # Of what is sent, some answers are lost, some come late, some requests come twice.
    faults = cycle(["lose", "", "double", "", "late", ""])
    seen: dict[str, str] = {}
    network.fault = lambda key: "" if key in seen else seen.setdefault(key, next(faults))
    network.up = True
    send_all(page)
    assert set(office.recorded().values()) == {1}
    assert list(office.values().values()) == values
    expect(page.locator("#tablet-strip")).to_be_hidden()
