"""A month planned in a real browser: from the list of what is due, moved by keyboard and by drag, refused beside its
cause where two would clash, told to the customer through a real SMTP server and read from the feed.
"""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import vobject
from playwright.sync_api import Locator, Page, expect

from app.actions import calendar_feeds, mail_servers, visits
from app.actions.deeds import Desk
from app.rules.mails import MailServerDetails, Security
from app.store.database import Database
from app.store.items import get_item
from tests.browser import OpenPage
from tests.cast import LONDON, PASSWORD, World, make_world
from tests.mail_catcher import Catcher, mail_server
from tests.servers import RunningApp, running_app


@pytest.fixture
def catcher() -> Iterator[Catcher]:
    with mail_server() as caught:
        yield caught


@pytest.fixture
def firm(sqlite_url: str, tmp_path: Path, catcher: Catcher) -> tuple[World, str]:
    """The small firm: both places have something due soon and no visit; and the token of the firm's calendar."""
    database = Database(sqlite_url)
    desk = Desk(database, tmp_path / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
    world = make_world(desk)
    with desk.doing(world.owner) as deed:
        for visit_id, item_id in zip(
            (world.visit_id, world.other_visit_id), (world.item_ids[0], world.other_item_ids[0]), strict=True
        ):
            visits.cancel_visit(deed, visit_id, "Planned in the browser")
            get_item(deed.session, item_id).next_due_on = deed.today + timedelta(days=1)
        details = MailServerDetails("127.0.0.1", catcher.port, Security.NONE, "", "office@tarn-alder.example")
        mail_servers.change_mail_server(deed, desk.keys_folder, details, "", None)
        token = calendar_feeds.make_calendar_feed(deed, None)
    database.close()
    return world, token


@pytest.fixture
def server(firm: tuple[World, str], tmp_path: Path) -> Iterator[RunningApp]:
    with running_app(tmp_path) as app:
        yield app


def place(page: Page, day: date, who: int) -> Locator:
    return page.locator(f'.plan-cell[data-day="{day.isoformat()}"][data-technician="{who}"]')


def wait_for_messages(page: Page, catcher: Catcher, count: int) -> None:
    for _ in range(300):
        if len(catcher.messages) >= count:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{len(catcher.messages)} messages came")


def test_a_month_is_planned(firm: tuple[World, str], server: RunningApp, open_page: OpenPage, catcher: Catcher) -> None:
    (world, token), page = firm, open_page("office", base_url=server.address)
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill("ines@tarn-alder.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    today = datetime.now(LONDON).date()
    monday = today - timedelta(days=today.weekday()) + timedelta(days=7)
    tuesday, thursday = monday + timedelta(days=1), monday + timedelta(days=3)

    # From the list of what is due a recall letter, in the office's own words.
    page.goto("/due")
    page.get_by_role("row", name=re.compile("Saltgate")).get_by_role("link", name="Letter").click()
    page.get_by_role("textbox", name=re.compile("^To")).fill("eli@example.com")
    page.get_by_role("textbox", name=re.compile("^Subject")).fill("Shall we come and test?")
    page.get_by_role("button", name="Send it").click()
    wait_for_messages(page, catcher, 1)
    assert (catcher.messages[0]["To"], catcher.messages[0]["Subject"]) == ("eli@example.com", "Shall we come and test?")

    # From the same list to a booking, by the plain form.
    page.goto("/due")
    page.get_by_role("row", name=re.compile("Brackenhow")).get_by_role("link", name="Book").click()
    page.get_by_label("Day").fill(tuesday.isoformat())
    page.get_by_label("Technician").select_option(label="Joss Alder")
    page.get_by_label("Length").fill("60")
    page.get_by_role("button", name="Book it").click()
    page.wait_for_url("**/planner?**")
    joss, ines = world.technician.id, world.owner.id
    card = page.locator(".plan-card", has_text="Brackenhow Primary School main site")
    expect(place(page, tuesday, joss).locator(card)).to_contain_text("08:30–09:30")

    # By keyboard: two days on, and to somebody else; Escape leaves it where it is.
    move = card.get_by_role("link", name="Move")
    move.focus()
    move.press("Enter")
    expect(page.locator("#plan-said")).to_contain_text("picked up")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Escape")
    expect(place(page, tuesday, joss).locator(card)).to_be_visible()
    move.press("Enter")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    expect(place(page, thursday, ines).locator(card)).to_be_visible()
    expect(card.get_by_role("link", name="Move")).to_be_focused()

    # The other place from the pool, by drag, to the same morning: the instrument is taken, so it comes after.
    pooled = page.locator(".plan-pool .plan-card", has_text="Saltgate Brewery main site")
    pooled.drag_to(place(page, thursday, joss))
    brewery = page.locator(".plan-card", has_text="Saltgate Brewery main site")
    expect(place(page, thursday, joss).locator(brewery)).to_contain_text("09:30–10:00")
    expect(page.locator(".plan-pool .plan-card")).to_have_count(0)

    # By drag to another day, and back onto a time that the instrument has elsewhere by then: refused beside its cause.
    brewery.drag_to(place(page, tuesday, joss))
    expect(place(page, tuesday, joss).locator(brewery)).to_be_visible()
    brewery.get_by_role("link", name="Move").click()
    page.get_by_label("Time").fill("08:45")
    page.get_by_role("button", name="Move it").click()
    expect(place(page, tuesday, joss).locator(brewery)).to_contain_text("08:45")
    brewery.drag_to(place(page, thursday, joss))
    expect(brewery.get_by_role("alert")).to_contain_text("Blue tester is booked from 08:30 to 09:30")
    expect(place(page, tuesday, joss).locator(brewery)).to_be_visible()

    # The month shows both; the customer is told; the feed has them.
    page.get_by_role("link", name="Month").click()
    expect(page.locator(".plan-month .plan-card")).to_have_count(2)
    card.get_by_role("link", name="Brackenhow Primary School main site", exact=True).click()
    page.get_by_role("link", name="Write to the customer").click()
    page.get_by_role("textbox", name=re.compile("^To")).fill("ada@example.com")
    page.get_by_role("button", name="Send it").click()
    wait_for_messages(page, catcher, 2)
    assert "text/calendar" in [part.get_content_type() for part in catcher.messages[1].walk()]
    feed = vobject.readOne(page.request.get(f"/calendar/{token}.ics").text())
    starts = {str(event.dtstart.value) for event in feed.vevent_list if event.status.value == "CONFIRMED"}
    assert {start[:16] for start in starts} == {f"{thursday} 08:30", f"{tuesday} 08:45"}
