"""A wrong fuse found, photographed, put right and tested again on a tablet; the number pad; the taps that a new item
takes; two tablets on one visit.
"""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.actions import visits
from app.actions.deeds import Desk
from app.store.photos import list_photos_of_visit
from app.store.readings import get_visit_item
from tests.browser import OpenPage
from tests.cast import PASSWORD, World
from tests.pictures import jpeg_segments, photo
from tests.servers import RunningApp
from tests.standing import StandingOffice, make_world_now

INSULATION, EARTH = "#f-insulation-resistance", "#f-protective-conductor-resistance"


@pytest.fixture
def open_page(open_page_that_keeps_nothing: OpenPage) -> OpenPage:
    return open_page_that_keeps_nothing


@pytest.fixture
def desk(standing: StandingOffice) -> Desk:
    return standing.desk


@pytest.fixture
def world(desk: Desk) -> World:
    world = make_world_now(desk)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    return world


@pytest.fixture
def server(world: World, standing: StandingOffice) -> RunningApp:
    return standing.app


def open_at(open_page: OpenPage, server: RunningApp, path: str, who: str = "joss") -> Page:
    page = open_page("tablet", base_url=server.address)
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill(f"{who}@tarn-alder.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    page.goto(path)
    return page


def test_a_fuse_is_put_right_with_a_photo(
    world: World, desk: Desk, server: RunningApp, open_page: OpenPage, tmp_path: Path
) -> None:
    drill = world.item_ids[1]
    page = open_at(open_page, server, f"/visits/{world.visit_id}/items/{drill}")
    page.get_by_role("radio", name="Defect found").tap()
    page.get_by_role("checkbox", name=re.compile("^Fuse: of the right rating")).check()
    page.get_by_role("button", name="too large for the cord").tap()
    expect(page.locator("#f-note-plug-fuse")).to_have_value("too large for the cord")
    taken = tmp_path / "camera.jpg"
    taken.write_bytes(photo(2400, 1800))
    page.get_by_label("What the next photo shows").fill("13 A in the drill's plug")
    page.locator("#f-photo").set_input_files(taken)
    expect(page.locator(".photo img")).to_be_visible()
    expect(page.locator("#f-note-plug-fuse")).to_have_value("too large for the cord")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).tap()
    expect(page.locator("#recorded")).to_contain_text("fail")

    page.get_by_text("Put right on the spot…").tap()
    page.get_by_role("radio", name="Fuse changed").tap()
    page.get_by_label("Fuse it has now").fill("3")
    with page.expect_navigation():
        page.get_by_role("button", name="Put right: test it again").tap()
    expect(page.locator(".earlier")).to_contain_text("Found first:")
    expect(page.locator(".earlier")).to_contain_text("too large for the cord")
    expect(page.locator(".earlier")).to_contain_text("fuse changed to 3")
    expect(page.get_by_role("radio", name="Defect found")).not_to_be_checked()

    page.get_by_role("radio", name="All points satisfactory").tap()
    expect(page.locator(INSULATION)).to_be_focused()
    page.keyboard.type("> 20 MΩ\n")
    expect(page.locator("#so-far")).to_contain_text("pass")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).tap()
    expect(page.locator("#recorded")).to_contain_text("pass")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")

    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, drill)
        assert (row.verdict, [each.verdict for each in row.rounds]) == ("pass", ["fail"])
        (kept,) = list_photos_of_visit(session, world.visit_id)[row.id]
        assert (kept.width, kept.height) == (1600, 1200)
        assert "APP1" not in jpeg_segments(kept.content)


def test_the_number_pad_types_a_reading_and_goes_on(world: World, server: RunningApp, open_page: OpenPage) -> None:
    page = open_at(open_page, server, f"/visits/{world.visit_id}/items/{world.item_ids[0]}")
    pad = page.locator("#number-pad")
    expect(pad).to_be_hidden()
    page.get_by_role("radio", name="All points satisfactory").tap()
    page.get_by_role("button", name="Number pad").tap()
    expect(page.locator(EARTH)).to_be_focused()
    expect(page.locator(EARTH)).to_have_attribute("inputmode", "none")

    def press(*keys: str) -> None:
        for key in keys:
            pad.locator(f'[data-key="{key}"]').tap()

    press("0", ".", "1", "8", "back", "1")
    expect(page.locator(EARTH)).to_have_value("0.11")
    expect(page.locator(f"{EARTH}-verdict")).to_contain_text("pass")
    press("clear", "1", "1", "0", "unit")
    expect(page.locator(EARTH)).to_have_value("110 mΩ")
    expect(page.locator(f"{EARTH}-verdict")).to_contain_text("pass")
    press("next")
    expect(page.locator(INSULATION)).to_be_focused()
    press("<", ">", "2", "0")
    expect(page.locator(INSULATION)).to_have_value("> 20")
    small = page.evaluate(
        """() => [...document.querySelectorAll('.pad-key')].map(key => key.getBoundingClientRect())
            .filter(box => box.width < 48 || box.height < 48).length"""
    )
    assert small == 0
    page.keyboard.type("0")
    expect(page.locator(INSULATION)).to_have_value("> 200")
    page.reload()
    expect(page.get_by_role("button", name="Number pad")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Number pad").tap()
    expect(page.locator(EARTH)).to_have_attribute("inputmode", "decimal")


def test_a_new_item_takes_three_taps_and_one_like_it_two(world: World, server: RunningApp, open_page: OpenPage) -> None:
    page = open_at(open_page, server, f"/visits/{world.visit_id}/sheet")
    taps = 0
    for name, role in (("New item", "link"), ("Kettle", "button"), ("Add and open", "button")):
        with page.expect_navigation():
            page.get_by_role(role, name=name, exact=True).tap()  # type: ignore[arg-type]
        taps += 1
    expect(page.get_by_role("heading", level=1)).to_have_text("0004 Kettle")
    like = 0
    for name, role in (("Another like this", "link"), ("Add and open", "button")):
        with page.expect_navigation():
            page.get_by_role(role, name=name, exact=True).tap()  # type: ignore[arg-type]
        like += 1
    expect(page.get_by_role("heading", level=1)).to_have_text("0005 Kettle")
    print(f"taps for a new item: {taps}; for another like it: {like}")
    assert (taps, like) == (3, 2)
    page.goto(f"/visits/{world.visit_id}/items/new?like={world.item_ids[0]}")
    page.get_by_label("Item number").fill("0002")
    expect(page.locator("#number-taken")).to_contain_text("0002 is Drill")
    page.get_by_role("link", name="Open that one").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("0002 Drill")


def test_two_tablets_see_each_others_saves(world: World, server: RunningApp, open_page: OpenPage) -> None:
    joss = open_at(open_page, server, f"/visits/{world.visit_id}/items/{world.item_ids[1]}")
    bea = open_at(open_page, server, f"/visits/{world.visit_id}/items/{world.item_ids[1]}", who="bea")
    joss.get_by_role("radio", name="All points satisfactory").tap()
    joss.locator(INSULATION).fill("55")
    bea.get_by_role("radio", name="All points satisfactory").tap()
    bea.locator(INSULATION).fill("77")
    with bea.expect_navigation():
        bea.get_by_role("button", name="Save", exact=True).tap()
    with joss.expect_response("**/parts/groups*"):
        joss.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(joss.locator("#groups")).to_contain_text("Bea Holm has changed this item")
    expect(joss.locator("#groups")).to_contain_text("1 of 3 items done")
    expect(joss.locator(INSULATION)).to_have_value("55")
    with joss.expect_navigation():
        joss.get_by_role("button", name="Save", exact=True).tap()
    expect(joss.locator("#differences")).to_contain_text("Saved by Bea Holm")
    expect(joss.locator("#differences")).to_contain_text("77")
    expect(joss.locator(INSULATION)).to_have_value("55")
