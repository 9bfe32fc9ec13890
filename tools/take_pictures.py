"""Takes the README's pictures of real screens and papers: python -m tools.take_pictures [DEMO_FOLDER].

Needs what the tests need (Chromium, Playwright, pypdfium2). Without a folder it makes a demo in a temporary one,
which takes a minute or two.
"""

import re
import sys
import tempfile
from datetime import datetime
from pathlib import Path

import pypdfium2
from playwright.sync_api import Browser, Page, sync_playwright

from app.__main__ import main
from tests.browser import SIZES, find_chromium
from tests.servers import running_app

DOCS = Path(__file__).resolve().parent.parent / "docs"


def take_pictures(folder: Path) -> None:
    """Take every picture from the demo in a folder."""
    account = (folder / "account.txt").read_text("utf-8")
    password = re.search(r"password\s+(\S+)", account)
    visit = re.search(r"\(visit (\d+)\)", account)
    papers = re.findall(r"\S+\.pdf", account)
    token = re.search(r"/s/(\S+)", account)
    assert password and visit and token and len(papers) == 2, "this is not the account of a demo"
    DOCS.mkdir(exist_ok=True)
    with running_app(folder) as app, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=["--no-sandbox"])
        office = sign_in(browser, "office", app.address, "ines", password[1])
        take(office, "/", "home")
        take(office, "/premises/1", "register")
        take(office, "/planner?view=month", "planner")
        take(office, "/pictures", "pictures")
        take(office, "/rulebooks/compare?one=uk-2012&two=en-50699&open=yes", "rulebooks")
        take(office, "/evidence", "evidence")
        tablet = sign_in(browser, "tablet", app.address, "wren", password[1])
        take_sheet(tablet, int(visit[1]) + 1)
        phone = browser.new_context(**SIZES["phone"], base_url=app.address).new_page()
        take(phone, f"/s/{token[1]}", "share")
        browser.close()
    for name, paper in zip(("certificate", "invoice"), papers, strict=True):
        page = pypdfium2.PdfDocument(folder / "papers" / Path(paper).name)[0]
        page.render(scale=1.1).to_pil().convert("P", palette=1).save(DOCS / f"{name}.png", optimize=True)


def sign_in(browser: Browser, size: str, address: str, who: str, password: str) -> Page:
    page = browser.new_context(**SIZES[size], base_url=address, locale="en-GB").new_page()
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill(f"{who}@tarn-alder.example")
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    return page


def take(page: Page, path: str, name: str) -> None:
    page.goto(path)
    page.wait_for_timeout(300)
    page.screenshot(path=DOCS / f"{name}.png")


def take_sheet(page: Page, visit: int) -> None:
    """The sheet of the visit under way, and an item that fails as it is typed."""
    take(page, f"/visits/{visit}/sheet", "sheet")
    page.locator("a[href*='/items/']", has_text="Kettle").first.click()
    page.get_by_role("radio", name="All points satisfactory").check()
    page.locator("[name='protective-conductor-resistance']").fill("0.21")
    page.locator("#f-protective-conductor-resistance-verdict").get_by_text("over").wait_for()
    page.wait_for_timeout(300)
    page.screenshot(path=DOCS / "failed.png")


if __name__ == "__main__":
    started = datetime.now()
    if len(sys.argv) > 1:
        take_pictures(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as made:
            main(["demo", "--once", "--data", made])
            take_pictures(Path(made))
    print(f"Pictures are in docs/ after {datetime.now() - started}.")
