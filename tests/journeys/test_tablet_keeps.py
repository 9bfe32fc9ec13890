"""What a tablet keeps, and for how long: sign-ins that end, wrong clocks, full storage, files, prepared visits."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.actions import people
from app.rules.visits import VisitState
from app.store.readings import get_visit_item, list_visit_items
from app.store.visits import get_visit
from tests.browser import OpenPage
from tests.journeys.tablets import INSULATION, Office, enter, make_office, open_pack, send_all, sign_in, waiting
from tests.networks import Network
from tests.standing import StandingOffice

DAY_MS = 86_400_000


@pytest.fixture
def office(standing: StandingOffice) -> Office:
    return make_office(standing.desk, 5)


def begin_offline(page: Page, office: Office, network: Network, entries: int) -> None:
    """Sign in, take the visit, lose the network, and make some entries."""
    sign_in(page)
    open_pack(page, office.world)
    network.up = False
    page.locator(".item-row").first.click()
    for number in range(entries):
        enter(page, str(31 + number))


def test_a_sign_in_that_ends_destroys_no_entry_and_another_person_sends_none(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    begin_offline(page, office, network, 2)
    with office.desk.doing(office.world.owner) as deed:
        people.change_password(deed, office.world.technician.id, "another slate roof over it")
    network.up = True
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#tablet-strip")).to_contain_text("You are signed out")
    assert waiting(page) == 2
    page.on("dialog", lambda dialog: dialog.accept())
    sign_in(page, "bea")
    page.goto("/on-this-tablet")
    expect(page.locator("#kept-words")).to_contain_text("2 entries not at the office yet")
    expect(page.locator("#tablet-strip")).to_contain_text("made by somebody else")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.wait_for_timeout(1000)
    assert sum(office.recorded().values()) == 0
    page.context.clear_cookies()
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill("joss@tarn-alder.example")
    page.get_by_label("Password").fill("another slate roof over it")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    page.goto("/on-this-tablet")
    send_all(page)
    assert list(office.recorded().values()) == [1, 1, 0, 0, 0]


def test_signing_out_warns_keeps_entries_and_leaves_nothing_else(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    begin_offline(page, office, network, 1)
    more = page.locator("header details.more > summary")
    if more.is_visible():
        more.click()
    page.once("dialog", lambda dialog: dialog.dismiss())
    with page.expect_event("dialog") as asked:
        page.get_by_role("button", name="Sign out").click()
    assert "1 entry on this tablet is not at the office yet" in asked.value.message
    expect(page.locator("#tablet-strip")).to_contain_text("1 entry on this tablet")
    page.on("dialog", lambda dialog: dialog.accept())
    network.fault = lambda key: "lose"  # so that it is not sent before the second try
    network.up = True
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in*")
    kept = page.evaluate(
        """async () => {
            const asked = indexedDB.open("ohmstead");
            const database = await new Promise((done) => { asked.onsuccess = () => done(asked.result); });
            const count = (name) => new Promise((done) => {
                const found = database.transaction(name).objectStore(name).count();
                found.onsuccess = () => done(found.result);
            });
            return [await count("packs"), await count("screens"), await caches.has("ohmstead-pages")];
        }"""
    )
    assert kept == [0, 0, False]


@pytest.mark.parametrize("days", [1, -1])
def test_a_clock_that_is_a_day_off_changes_nothing_at_the_office(
    office: Office, network: Network, open_page: OpenPage, days: int
) -> None:
    page = open_page("tablet", base_url=network.address)
    page.add_init_script(f"const now = Date.now.bind(Date); Date.now = () => now() + {days * DAY_MS};")
    begin_offline(page, office, network, 2)
    network.up = True
    send_all(page)
    with office.desk.reading_only() as session:
        started_at = get_visit(session, office.world.visit_id).started_at
        rows = list_visit_items(session, office.world.visit_id)
        moments = [row.tested_at for row in rows if row.tested_at]
    assert len(moments) == 2
    assert started_at is not None
    assert all(started_at <= moment <= office.desk.now for moment in moments)


def test_the_banner_grows_stronger_and_no_clock_can_silence_it(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    begin_offline(page, office, network, 1)
    strip = page.locator("#tablet-strip")
    hours = "const now = window.trueNow ??= Date.now.bind(Date); Date.now = () => now() + %d * 3600000;"
    page.evaluate(f"() => {{ {hours % 2} window.dispatchEvent(new Event('offline')); }}")
    expect(strip).to_contain_text("the oldest for 2 hours")
    page.evaluate(f"() => {{ {hours % 26} window.dispatchEvent(new Event('offline')); }}")
    expect(strip).to_contain_text("Bring the tablet to the network today, or export them.")
    # What was awake for two hours stays two hours old, whatever the clock is set back to.
    ages = page.evaluate(
        """async () => {
            const { age } = await import("/static/js/tablet/outbox.js");
            const now = window.trueNow();
            Date.now = () => now - 86400000;
            return [age({ made_at: now, awake: 7200000 }), age({ made_at: now, awake: 0 })];
        }"""
    )
    assert ages == [7_200_000, 0]


def test_a_full_storage_says_so_and_loses_nothing_typed(office: Office, network: Network, open_page: OpenPage) -> None:
    page = open_page("tablet", base_url=network.address)
    begin_offline(page, office, network, 1)
    full = """() => {
        const put = IDBObjectStore.prototype.put;
        IDBObjectStore.prototype.put = function (value) {
            if (this.name !== "entries") return put.call(this, value);
            throw new DOMException("full", "QuotaExceededError");
        };
    }"""
    page.evaluate(full)
    page.get_by_role("radio", name="All points satisfactory").check()
    page.locator(INSULATION).fill("77")
    page.get_by_role("radio", name="Works as it should").check()
    page.get_by_role("button", name="Save and next").click()
    expect(page.locator("#notice")).to_contain_text("Not saved: the storage of this tablet is full")
    expect(page.locator(INSULATION)).to_have_value("77")
    # With the network it goes the plain way.
    network.up = True
    with page.expect_navigation():
        page.get_by_role("button", name="Save and next").click()
    assert office.values()["0002"] == "77"


def test_a_label_of_another_customer_is_named_without_the_network(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    sign_in(page)
    open_pack(page, office.world)
    network.up = False
    for customer_id, said in ((office.world.customer_id, ""), (office.world.other_customer_id, "another customer")):
        page.get_by_label("Find an item").fill(f"HTTPS://OFFICE.TARN-ALDER.EXAMPLE/L/{customer_id}/0002")
        page.keyboard.press("Enter")
        if said:
            expect(page.locator("#notice")).to_contain_text("This label, number 0002, was printed for another customer")
        else:
            expect(page.get_by_role("heading", level=1)).to_have_text("0002 Drill")


def test_entries_travel_in_a_file_and_are_taken_in_once(
    office: Office, network: Network, open_page: OpenPage, tmp_path: Path
) -> None:
    page = open_page("tablet", base_url=network.address)
    begin_offline(page, office, network, 3)
    page.get_by_role("button", name="Show entries").click()
    with page.expect_download() as download:
        page.get_by_role("button", name="Export what is not sent").click()
    file = tmp_path / "entries.json"
    download.value.save_as(file)
    assert json.loads(file.read_text("utf-8"))["format"] == "ohmstead entries"
    desk = open_page("office", base_url=network.to)
    sign_in(desk, "bea")
    desk.goto("/entry-files/new")
    desk.get_by_label("File from the tablet").set_input_files(file)
    expect(desk.locator("#entry-file-words")).to_contain_text("3 in this file. Nothing is taken in yet.")
    assert sum(office.recorded().values()) == 0
    desk.get_by_role("button", name="Take these in").click()
    expect(desk.locator("#entry-file-words")).to_contain_text("All 3 are saved at the office.")
    with office.desk.reading_only() as session:
        row = get_visit_item(session, office.world.visit_id, office.world.item_ids[0])
        assert row.tested_by is not None
        assert row.tested_by.name == "Joss Alder"
    # The tablet reaches the office after all: nothing is done a second time.
    network.up = True
    page.get_by_role("button", name="Close").click()
    send_all(page)
    assert sum(office.recorded().values()) == 3
    wrong = tmp_path / "wrong.json"
    wrong.write_text("[]", "utf-8")
    desk.get_by_label("File from the tablet").set_input_files(wrong)
    expect(desk.locator("#entry-file-words")).to_contain_text("This is not a file of entries from a tablet.")


def test_a_prepared_visit_is_started_and_tested_without_the_network(
    office: Office, network: Network, open_page: OpenPage
) -> None:
    page = open_page("tablet", base_url=network.address)
    sign_in(page)
    page.get_by_role("button", name="Prepare the next visits").click()
    expect(page.locator("#prepare-words")).to_contain_text(
        "Saltgate Brewery main site is on this tablet, 3 items, kept just now", timeout=60_000
    )
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    network.up = False
    page.goto("/")
    page.locator("#kept-visits").get_by_role("link", name="Saltgate Brewery main site").click()
    page.get_by_role("button", name="Start the visit").click()
    page.locator(".item-row").first.click()
    enter(page, "44")
    network.up = True
    send_all(page)
    with office.desk.reading_only() as session:
        visit = get_visit(session, office.world.other_visit_id)
        rows = list_visit_items(session, visit.id)
        assert visit.state == VisitState.UNDER_WAY
        assert [row.verdict for row in rows] == ["pass", None, None]
