"""How long a tablet takes from a press to the next screen, from its pack, beside the office drawing the same page."""

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

from playwright.sync_api import Page, sync_playwright

from app.settings import Settings
from app.store.database import Database
from app.store.migrate import upgrade
from tests.browser import FLAGS, SIZES, find_chromium
from tests.journeys.tablets import INSULATION, make_office, open_pack, sign_in
from tests.servers import running_app
from tests.standing import desk_at

ITEMS = 60
TIMES = 25
#: Done in the page itself: from the press until the next item is drawn and painted.
PRESS = """([words, before]) => new Promise((done) => {
    const began = performance.now();
    const wait = () => (document.querySelector("h1").textContent === before
        ? requestAnimationFrame(wait)
        : requestAnimationFrame(() => done((performance.now() - began) / 1000)));
    [...document.querySelectorAll("button")].find((each) => each.textContent.trim().startsWith(words)).click();
    wait();
})"""


def measure() -> Iterator[tuple[str, float]]:
    """Save item after item with the press that opens the next one, then open as many pages at the office."""
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        folder = Path(made)
        settings = Settings(data_folder=folder)
        database = Database(settings.database_url)
        upgrade(database.engine)
        office = make_office(desk_at(settings.database_url, folder), ITEMS)
        as_root = ["--no-sandbox"] if os.name == "posix" and os.geteuid() == 0 else []
        with running_app(folder) as app:
            browser = playwright.chromium.launch(executable_path=find_chromium(), args=[*FLAGS, *as_root])
            page = browser.new_context(**SIZES["tablet"], base_url=app.address).new_page()
            sign_in(page)
            open_pack(page, office.world)
            page.locator(".item-row").first.click()
            tablet = _middle(lambda: _press(page))
            addresses = iter(office.world.item_ids)
            asked = _middle(lambda: _load(page, f"/visits/{office.world.visit_id}/items/{next(addresses)}"))
            browser.close()
        database.close()
    yield f"page of an item from the office, {ITEMS} items", asked
    yield f"press to the next item, from the pack: {asked / tablet:.1f} times as fast", tablet


def _press(page: Page) -> float:
    page.get_by_role("radio", name="All points satisfactory").check()
    page.locator(INSULATION).fill("99")
    took: float = page.evaluate(PRESS, ["Save and next", page.locator("h1").inner_text()])
    return took


def _load(page: Page, address: str) -> float:
    began = time.perf_counter()
    page.goto(address, wait_until="load")
    return time.perf_counter() - began


def _middle(work: Callable[[], float]) -> float:
    return median([work() for _ in range(TIMES)])
