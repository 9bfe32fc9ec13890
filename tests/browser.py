"""A real Chromium for the tests, driven by Playwright, kept off the network, in the three sizes of our pages.

The browser lives for one test module and no longer: while Playwright's own loop runs, no other test could
use asyncio.
"""

import ctypes
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FLAGS = (
    "--disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update"
    " --disable-sync --disable-default-apps --no-proxy-server"
).split()
#: A name for this computer that browsers trust no more than any other: over plain HTTP it is no secure context.
PLAIN_HOST = "plain.example"
ONLY_THIS_COMPUTER = (
    "--host-resolver-rules=MAP plain.example 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"
)
SIZES: dict[str, dict[str, Any]] = {
    "office": {"viewport": {"width": 1440, "height": 900}},
    "tablet": {"viewport": {"width": 820, "height": 1180}, "has_touch": True},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
}
OpenPage = Callable[..., Page]
#: Script that takes the storage away in which a tablet keeps visits and entries.
KEEPS_NOTHING = "Object.defineProperty(window, 'indexedDB', { value: undefined })"
#: How long a test waits for what must come: long, since a busy computer is no fault. What is right waits for nothing.
PATIENCE_MS = 30_000
expect.set_options(timeout=PATIENCE_MS)


def find_chromium() -> str | None:
    """The path of a Chromium: the one that OHMSTEAD_CHROMIUM names, else one on the path, or nothing."""
    found = (shutil.which(name) for name in NAMES)
    return os.environ.get("OHMSTEAD_CHROMIUM") or next((path for path in found if path), None)


def missing() -> str:
    """What browser tests lack on this computer and how to get it; empty when all is there."""
    if find_chromium() is None:
        return "no Chromium here (Debian: apt-get install chromium)"
    if sys.platform == "linux":
        try:
            ctypes.CDLL("libatomic.so.1")
        except OSError:
            return "Playwright's driver lacks libatomic here (Debian: apt-get install libatomic1)"
    return ""


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """A running Chromium; the test is skipped, with the reason, where there is none."""
    if reason := missing():
        pytest.skip(reason)
    as_root = ["--no-sandbox"] if os.name == "posix" and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        flags = [*FLAGS, ONLY_THIS_COMPUTER, *as_root]
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=flags)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Browser) -> Iterator[OpenPage]:
    """Opens pages, each like a person's own device: `open_page("tablet", base_url=server.address)`.

    At the end the test fails if a page had a script error or broke the content security policy.
    """
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        # An answer such as 422 is logged as an error too, and is often what the test is about. Over plain HTTP a
        # browser says that it heeds no opener policy.
        # Without the network, and when a question is given up, htmx says so too.
        told = (
            "htmx:sendError",
            "htmx:sendAbort",
            "htmx:afterRequest",
            "Failed to load resource",
            "The Cross-Origin-Opener-Policy header has been ignored",
        )
        if message.type == "error" and not message.text.startswith(told):
            faults.append(message.text)

    def open_one(size: str = "office", **options: Any) -> Page:
        shared: dict[str, Any] = {
            "locale": "en-GB",
            "timezone_id": "Europe/London",
            "reduced_motion": "reduce",
        }
        context = chromium.new_context(**{**shared, **SIZES[size], **options})
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", listen)
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert not faults, "the browser reported: " + "; ".join(faults)


@pytest.fixture
def open_page_that_keeps_nothing(open_page: OpenPage) -> OpenPage:
    """Pages of a device that can keep no entries, as some private windows: every save goes to the office and comes back
    as a new page, so a journey about what the office does never waits for what the tablet might do first.
    """

    def open_one(size: str = "office", **options: Any) -> Page:
        page = open_page(size, **options)
        page.add_init_script(KEEPS_NOTHING)
        return page

    return open_one
