"""The office plans two weeks in a real browser: ticks what is due, waits for the proposals, moves one, books them."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from playwright.sync_api import expect

from app.actions.deeds import Desk
from app.actions.visits import cancel_visit
from app.store.database import Database
from app.store.items import get_item
from app.store.visits import list_visits
from tests.browser import OpenPage
from tests.cast import LONDON, PASSWORD, make_world
from tests.servers import running_app


def test_from_what_is_due_to_booked_visits(sqlite_url: str, tmp_path: Path, open_page: OpenPage) -> None:
    desk = Desk(Database(sqlite_url), tmp_path / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
    world = make_world(desk)
    with desk.doing(world.office) as deed:
        for visit in list_visits(deed.session):
            cancel_visit(deed, visit.id, "for the test")
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).next_due_on = deed.today + timedelta(days=5)
    with running_app(tmp_path) as server:
        page = open_page("office", base_url=server.address)
        page.goto("/sign-in")
        page.get_by_label("E-mail address").fill("bea@tarn-alder.example")
        page.get_by_label("Password").fill(PASSWORD)
        page.keyboard.press("Enter")
        page.wait_for_url("**/")
        page.goto("/due")
        for tick in page.get_by_label("Propose a day").all():
            tick.check()
        page.get_by_role("button", name="Propose bookings for what is ticked").click()
        expect(page.get_by_role("checkbox", checked=True)).to_have_count(2)
        page.get_by_role("button", name="Propose bookings for what is ticked").click()
        # The page asks until the answer is there; nobody reloads it.
        expect(page.get_by_role("button", name="Book all 2")).to_be_visible(timeout=90_000)
        expect(page.locator("#answer")).to_contain_text("Worked out by a solver")
        page.get_by_role("link", name="Change").first.press("Enter")
        page.get_by_label("Begins").fill("06:00")
        page.keyboard.press("Enter")
        expect(page.locator("#answer")).to_contain_text("it is outside the hours of Joss Alder")
        expect(page.get_by_role("checkbox", checked=True)).to_have_count(1)
        page.get_by_role("button", name="Book what is ticked").click()
        expect(page.get_by_role("link", name="Booked", exact=True)).to_have_count(1)
        page.get_by_role("button", name="Book all 1").click()
        expect(page.get_by_role("link", name="Booked", exact=True)).to_have_count(2)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    with desk.reading_only() as session:
        assert len(list_visits(session, state="booked")) == 2
    desk.database.close()
