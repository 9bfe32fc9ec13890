"""Deciding an interval in a real browser: answers are worked out as they are chosen, and without script by a press."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.actions.deeds import Desk
from app.store.database import Database
from tests.browser import OpenPage
from tests.cast import LONDON, PASSWORD, World, make_world
from tests.servers import RunningApp, running_app


@pytest.fixture
def world(sqlite_url: str, tmp_path: Path) -> World:
    database = Database(sqlite_url)
    desk = Desk(database, tmp_path / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
    world = make_world(desk)
    database.close()
    return world


@pytest.fixture
def server(world: World, tmp_path: Path) -> Iterator[RunningApp]:
    with running_app(tmp_path) as app:
        yield app


def open_interval(open_page: OpenPage, server: RunningApp, world: World, kind: str, **more: object) -> Page:
    page = open_page(kind, base_url=server.address, **more)
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill("joss@tarn-alder.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    page.goto(f"/items/{world.item_ids[0]}")
    page.get_by_role("link", name="Decide how often, with a reason").click()
    return page


@pytest.mark.parametrize("scripted", [True, False], ids=["with script", "without"])
def test_answers_months_and_a_reason(world: World, server: RunningApp, open_page: OpenPage, scripted: bool) -> None:
    page = open_interval(open_page, server, world, "phone", java_script_enabled=scripted)
    expect(page.locator("#risk-steps")).to_contain_text("the interval stays 12 months")
    page.get_by_label("Reason").fill("Wet floor")
    page.get_by_label("Damp, dusty, hot or rough").check()
    page.get_by_label("Old or worn").check()
    show = page.get_by_role("button", name="Show what the answers do")
    if scripted:
        expect(show).to_have_count(0)
    else:
        show.click()
        assert "csrf" not in page.url
    expect(page.locator("#risk-steps")).to_contain_text("6 months, shorter than the table's 12")
    expect(page.get_by_label("Old or worn")).to_be_checked()
    expect(page.get_by_label("Reason")).to_have_value("Wet floor")
    page.get_by_label("Interval").fill("6")
    with page.expect_navigation():
        page.get_by_role("button", name="Decide").click()
    expect(page.locator("main")).to_contain_text("Answers: Damp, dusty, hot or rough; Old or worn.")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
