"""A tablet, its browser or the office's server killed in the middle of a visit: what was kept is sent, and once.

The longer run, 200 interruptions over 2,000 entries, is chosen by ./run test --long.
"""

import os
import random
import signal
import subprocess
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect, sync_playwright

from tests.browser import FLAGS, ONLY_THIS_COMPUTER, SIZES, find_chromium, missing
from tests.journeys.tablets import INSULATION, Office, enter, make_office, open_pack, send_all, sign_in, waiting
from tests.networks import Network, network_before
from tests.servers import RunningApp, running_app
from tests.standing import desk_at


class Tablet:
    """A browser with its own folder on disk, which outlives its being killed."""

    def __init__(self, playwright: Playwright, folder: Path, network: Network) -> None:
        self.playwright, self.folder, self.network = playwright, folder, network
        self.context: BrowserContext | None = None
        self.page = self.switch_on()

    def switch_on(self) -> Page:
        as_root = ["--no-sandbox"] if os.name == "posix" and os.geteuid() == 0 else []
        self.context = self.playwright.chromium.launch_persistent_context(
            str(self.folder),
            executable_path=find_chromium(),
            args=[*FLAGS, ONLY_THIS_COMPUTER, *as_root],
            base_url=self.network.address,
            locale="en-GB",
            **SIZES["tablet"],
        )
        self.context.set_default_timeout(30_000)
        self.page = self.context.pages[0]
        return self.page

    def kill(self) -> None:
        """Kill the whole browser, as when a battery dies, and switch it on again where it was."""
        address = self.page.url
        for number in _processes_with(str(self.folder)):
            try:
                os.kill(number, signal.SIGKILL)
            except ProcessLookupError:
                continue
        assert self.context is not None
        with suppress(Error):  # the browser behind it is gone, which is the point
            self.context.close()
        for name in ("SingletonLock", "SingletonSocket", "SingletonCookie"):
            (self.folder / name).unlink(missing_ok=True)
        self.switch_on()
        self.come_back(address)

    def come_back(self, address: str) -> None:
        """Open the sheet again, signing in anew where a browser that was killed has forgotten it."""
        try:
            self.page.goto(address)
        except Error:
            # Neither network nor a service worker yet: the technician walks to where the network is.
            self.network.up = True
            self.page.goto(address)
        if "/sign-in" in self.page.url:
            sign_in(self.page)
            self.page.goto(address)
        expect(self.page.locator("html[data-tablet=ready]")).to_have_count(1, timeout=90_000)

    def kill_page(self) -> None:
        """Kill the process that draws the page, and open it again."""
        address = self.page.url
        assert self.context is not None
        fresh = self.context.new_page()
        with suppress(Error):  # a crashed page answers nothing
            self.page.goto("chrome://crash", wait_until="commit", timeout=2000)
        self.page.close()
        self.page = fresh
        self.come_back(address)


def _processes_with(text: str) -> list[int]:
    """The browser's processes: those started with this folder, which is this test's own."""
    told = subprocess.run(["ps", "-eo", "pid=,args="], capture_output=True, text=True, check=True).stdout
    lines = (line.strip().split(" ", 1) for line in told.splitlines())
    return [int(number) for number, args in lines if f"--user-data-dir={text}" in args]


class Server:
    """The office's server, which is killed and started again on the same records."""

    def __init__(self, folder: Path, network: Network, stack: ExitStack) -> None:
        self.folder, self.network, self.stack = folder, network, stack
        self.app: RunningApp | None = None

    def start(self) -> None:
        self.app = self.stack.enter_context(running_app(self.folder))
        self.network.to = self.app.address

    def kill(self) -> None:
        assert self.app is not None
        self.app.process.kill()
        self.app.process.wait()
        self.start()


@contextmanager
def site(office: Office, folder: Path) -> Iterator[tuple[Tablet, Server, Network]]:
    with ExitStack() as stack:
        network = stack.enter_context(network_before("http://127.0.0.1:1"))
        server = Server(folder, network, stack)
        server.start()
        playwright = stack.enter_context(sync_playwright())
        tablet = Tablet(playwright, folder / "tablet", network)
        sign_in(tablet.page)
        open_pack(tablet.page, office.world)
        yield tablet, server, network
        assert tablet.context is not None
        tablet.context.close()


def work(office: Office, folder: Path, entries: int, interruptions: int, seed: int) -> dict[str, str]:
    """Enter so many values, interrupted so often; what should stand at the office, by item number."""
    chance = random.Random(seed)
    count = len(office.world.item_ids)
    moments = sorted(chance.sample(range(1, entries), interruptions))
    wanted: dict[str, str] = {}
    with site(office, folder) as (tablet, server, network):

        def off_and_on() -> None:
            network.up = not network.up

        kinds: list[Callable[[], None]] = [tablet.kill, tablet.kill_page, server.kill, off_and_on]
        network.fault = lambda key: chance.choice(["", "", "", "lose", "double", "late"])
        for number in range(entries):
            if moments and moments[0] == number:
                moments.pop(0)
                kinds[len(moments) % len(kinds)]()
            item = f"{number % count + 1:04d}"
            value = str(10 + number)
            tablet.come_back(f"/visits/{office.world.visit_id}/items/{office.world.item_ids[number % count]}")
            enter(tablet.page, value)
            wanted[item] = value
        network.up, network.fault = True, lambda key: ""
        send_all(tablet.page)
        assert waiting(tablet.page) == 0
        assert tablet.page.locator(INSULATION).count() <= 1
    return wanted


@pytest.fixture
def browser_here() -> None:
    if reason := missing():
        pytest.skip(reason)


def check(office: Office, wanted: dict[str, str], entries: int) -> None:
    assert {number: value for number, value in office.values().items() if value} == wanted
    assert sum(office.recorded().values()) == entries, "each entry is in the journal once"


def test_kills_of_tablet_browser_and_server_lose_nothing(sqlite_url: str, tmp_path: Path, browser_here: None) -> None:
    office = make_office(desk_at(sqlite_url, tmp_path), 12)
    wanted = work(office, tmp_path, entries=12, interruptions=4, seed=7)
    check(office, wanted, 12)


@pytest.mark.long
def test_two_hundred_interruptions_over_two_thousand_entries(
    sqlite_url: str, tmp_path: Path, browser_here: None
) -> None:
    office = make_office(desk_at(sqlite_url, tmp_path), 400)
    wanted = work(office, tmp_path, entries=2000, interruptions=200, seed=20)
    check(office, wanted, 2000)
