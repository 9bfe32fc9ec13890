"""Scanning a label with the camera on the visit sheet, and the app under its own authority, in a real Chromium.

The camera is Chromium's own stand-in, fed with a film that the test makes: a label as it is printed, held at a slant.
"""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright

from app.actions import visits
from app.actions.deeds import Desk
from app.documents.labels import labels_from
from app.documents.pdf import label_pdf_from
from app.rules.label_sheets import LabelSheetDetails
from app.rules.labels import LabelFacts, Standing, describe_label_address
from tests.browser import FLAGS, KEEPS_NOTHING, SIZES, find_chromium, missing
from tests.cast import PASSWORD, World
from tests.documents.label_reading import pictures_of
from tests.documents.test_labels import ROLL_203, ROLL_BARS
from tests.servers import RunningApp, running_app
from tests.standing import StandingOffice, desk_at, make_world_now

FRAME = (640, 480)
OpenScanner = Callable[..., Page]


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    if reason := missing():
        pytest.skip(reason)
    with sync_playwright() as started:
        yield started


@pytest.fixture
def world(standing: StandingOffice) -> World:
    return with_visit_under_way(standing.desk)


def with_visit_under_way(desk: Desk) -> World:
    world = make_world_now(desk)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    return world


@pytest.fixture
def server(world: World, standing: StandingOffice) -> RunningApp:
    return standing.app


@pytest.fixture
def open_scanner(playwright: Playwright, tmp_path: Path) -> Iterator[OpenScanner]:
    """Opens a tablet with a camera that sees a film; at the end nothing may have been asked for elsewhere."""
    with ExitStack() as opened:
        strange: list[str] = []

        def open_one(
            film: Path | None = None, home: Path | None = None, allow: bool = True, script: str = "", keeps: bool = True
        ) -> Page:
            folder = home or tmp_path
            as_root = ["--no-sandbox"] if os.name == "posix" and os.geteuid() == 0 else []
            camera = [f"--use-file-for-fake-video-capture={film}"] if film else []
            if film:
                camera.append("--use-fake-device-for-media-stream")
            rules = "--host-resolver-rules=MAP office-pc.local 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
            browser = playwright.chromium.launch(
                executable_path=find_chromium(), args=[*FLAGS, rules, *as_root, *camera],
                env={**os.environ, "HOME": str(folder)},
            )  # fmt: skip
            opened.callback(browser.close)
            context: BrowserContext = browser.new_context(**SIZES["tablet"], locale="en-GB")
            context.set_default_timeout(30_000)
            if allow:
                context.grant_permissions(["camera"])
            if script:
                context.add_init_script(script)
            context.on("request", lambda request: strange.append(request.url) if not _is_ours(request.url) else None)
            page = context.new_page()
            if not keeps:
                page.add_init_script(KEEPS_NOTHING)
            return page

        yield open_one
        assert strange == []


def _is_ours(address: str) -> bool:
    return address.startswith(("http://127.0.0.1:", "https://127.0.0.1:", "https://localhost:", "data:", "blob:"))


def film_of(sheet: LabelSheetDetails, label: LabelFacts, file: Path, slant: int) -> Path:
    """A film of a printed label, lying at a slant on a grey desk (YUV4MPEG2, brightness alone)."""
    picture = pictures_of(label_pdf_from(labels_from(sheet, [label])), 240)[0].convert("L")
    tilted = picture.rotate(slant, expand=True, fillcolor=150, resample=Image.Resampling.BICUBIC)
    scale = min(0.95 * FRAME[0] / tilted.width, 0.95 * FRAME[1] / tilted.height, 1.6)
    tilted = tilted.resize((int(tilted.width * scale), int(tilted.height * scale)))
    frame = Image.new("L", FRAME, 150)
    frame.paste(tilted, ((FRAME[0] - tilted.width) // 2, (FRAME[1] - tilted.height) // 2))
    colourless = bytes([128]) * (FRAME[0] * FRAME[1] // 2)
    with file.open("wb") as out:
        out.write(f"YUV4MPEG2 W{FRAME[0]} H{FRAME[1]} F10:1 Ip A1:1 C420jpeg\n".encode())
        for _ in range(10):
            out.write(b"FRAME\n" + frame.tobytes() + colourless)
    return file


def label_of(customer_id: int, number: str) -> LabelFacts:
    address = describe_label_address("https://office.tarn-alder.example", customer_id, number)
    return LabelFacts(number, address, "Drill", Standing.PASS, False, datetime.now(UTC).date(), "JA")


def open_sheet(page: Page, address: str, world: World) -> None:
    page.goto(f"{address}/sign-in")
    page.get_by_label("E-mail address").fill("joss@tarn-alder.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    page.goto(f"{address}/visits/{world.visit_id}/sheet")


@pytest.mark.parametrize(("sheet", "slant"), [(ROLL_203, 17), (ROLL_203, -74), (ROLL_BARS, 4)], ids=str)
def test_a_label_before_the_camera_opens_its_item(
    world: World, server: RunningApp, open_scanner: OpenScanner, tmp_path: Path, sheet: LabelSheetDetails, slant: int
) -> None:
    film = film_of(sheet, label_of(world.customer_id, "0002"), tmp_path / "camera.y4m", slant)
    page = open_scanner(film)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    open_sheet(page, server.address, world)
    page.get_by_role("button", name="Scan").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("0002 Drill")
    assert page.url.endswith(f"/visits/{world.visit_id}/items/{world.item_ids[1]}")
    assert faults == []


def test_a_number_printed_ahead_opens_as_a_new_item(
    world: World, server: RunningApp, open_scanner: OpenScanner, tmp_path: Path
) -> None:
    page = open_scanner(film_of(ROLL_203, label_of(world.customer_id, "0470"), tmp_path / "camera.y4m", 9))
    open_sheet(page, server.address, world)
    page.get_by_role("button", name="Scan").tap()
    page.get_by_role("link", name="Add item 0470").tap()
    page.get_by_role("button", name="Kettle").tap()
    expect(page.get_by_label("Number", exact=False).first).to_have_value("0470")


def test_a_picture_without_a_code_keeps_looking_until_closed_and_the_camera_goes_off(
    world: World, server: RunningApp, open_scanner: OpenScanner, tmp_path: Path
) -> None:
    film = tmp_path / "camera.y4m"
    grey = bytes([150]) * (FRAME[0] * FRAME[1]) + bytes([128]) * (FRAME[0] * FRAME[1] // 2)
    film.write_bytes(f"YUV4MPEG2 W{FRAME[0]} H{FRAME[1]} F10:1 Ip A1:1 C420jpeg\nFRAME\n".encode() + grey)
    page = open_scanner(film)
    open_sheet(page, server.address, world)
    page.get_by_role("button", name="Scan").tap()
    status = page.locator("#scanner [role=status]")
    expect(status).to_have_text("Hold the code of the label in the picture.")
    stream = page.evaluate_handle("document.querySelector('#scanner video').srcObject")
    assert page.evaluate("stream => stream.getTracks().map(track => track.readyState)", stream) == ["live"]
    page.keyboard.press("Escape")
    expect(page.locator("#scanner")).to_be_hidden()
    assert page.evaluate("stream => stream.getTracks().map(track => track.readyState)", stream) == ["ended"]
    assert page.url.endswith("/sheet")


def test_a_camera_that_is_not_allowed_is_said(
    world: World, server: RunningApp, open_scanner: OpenScanner, tmp_path: Path
) -> None:
    film = film_of(ROLL_203, label_of(world.customer_id, "0002"), tmp_path / "camera.y4m", 0)
    page = open_scanner(film, allow=False)
    open_sheet(page, server.address, world)
    page.get_by_role("button", name="Scan").tap()
    expect(page.locator("#scanner [role=status]")).to_contain_text("The camera is not allowed for this page")
    page.get_by_role("button", name="Close").tap()
    page.get_by_label("Find an item").fill("0002")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("0002 Drill")


def test_without_a_camera_there_is_no_button(world: World, server: RunningApp, open_scanner: OpenScanner) -> None:
    page = open_scanner()
    open_sheet(page, server.address, world)
    page.wait_for_function("() => navigator.mediaDevices.enumerateDevices().then(() => true)")
    expect(page.get_by_label("Find an item")).to_be_visible()
    expect(page.get_by_role("button", name="Scan")).to_be_hidden()


@pytest.mark.parametrize(("case", "keeps"), [(str.upper, False), (str.lower, True)])
def test_a_scanner_that_types_is_heard_wherever_the_focus_is(
    world: World, server: RunningApp, open_scanner: OpenScanner, case: Callable[[str], str], keeps: bool
) -> None:
    """A tablet that can keep nothing asks the office for the number alone; one with the visit finds it by itself."""
    page = open_scanner(keeps=keeps)
    ready = page.locator(f"html[data-tablet={'ready' if keeps else 'plain'}]")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/find?" in request.url else None)
    open_sheet(page, server.address, world)
    for number, heading in (("0002", "0002 Drill"), ("0003", "0003 Extension lead")):
        ready.wait_for(state="attached")  # the sheet's script is there
        page.locator("h1").click()
        page.keyboard.type(case(label_of(world.customer_id, number).address))
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text(heading)
    numbers = [url.split("number=")[1] for url in asked]
    assert numbers == ([] if keeps else ["0002", "0003"])
    ready.wait_for(state="attached")
    page.locator("h1").click()
    page.keyboard.type(label_of(world.other_customer_id, "0001").address)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("A label from elsewhere")


#: Chromium on Linux has no reader of its own. This stands in for one and says what it was asked to read.
OWN_READER = """
window.BarcodeDetector = class {
    static getSupportedFormats() { return Promise.resolve(["code_128", "ean_13", "qr_code"]); }
    constructor(options) { window.wanted = options.formats; }
    detect(picture) { return Promise.resolve(picture.width ? [{rawValue: "0003"}] : []); }
};
window.addEventListener("pagehide", () => {
    sessionStorage.setItem("seen", JSON.stringify([window.wanted, !!window.ZXingWASM]));
});
"""


def test_where_the_browser_reads_codes_itself_nothing_is_loaded(
    world: World, server: RunningApp, open_scanner: OpenScanner, tmp_path: Path
) -> None:
    film = film_of(ROLL_203, label_of(world.customer_id, "0002"), tmp_path / "camera.y4m", 0)
    page = open_scanner(film, script=OWN_READER)
    open_sheet(page, server.address, world)
    page.get_by_role("button", name="Scan").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("0003 Extension lead")
    assert page.evaluate("JSON.parse(sessionStorage.getItem('seen'))") == [["qr_code", "code_128"], False]


CAPABILITIES = "() => [isSecureContext, 'serviceWorker' in navigator, !!(navigator.mediaDevices && crypto.randomUUID)]"


def test_a_browser_that_trusts_the_authority_has_a_secure_page_and_scans(
    sqlite_url: str, open_scanner: OpenScanner, tmp_path: Path
) -> None:
    """The authority is put into Chromium's own store, as a person puts it into a tablet's."""
    certutil = shutil.which("certutil")
    if certutil is None:
        pytest.skip("no certutil here (Debian: apt-get install libnss3-tools)")
    world = with_visit_under_way(desk_at(sqlite_url, tmp_path))
    film = film_of(ROLL_203, label_of(world.customer_id, "0001"), tmp_path / "camera.y4m", 30)
    with running_app(tmp_path, "--lan", "--host", "127.0.0.1") as app:
        address = app.address.replace("http:", "https:")
        stranger = open_scanner(film, home=tmp_path / "stranger")
        with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
            stranger.goto(f"{address}/sign-in")
        store = tmp_path / "trusting" / ".pki" / "nssdb"
        store.mkdir(parents=True)
        authority = str(app.data_folder / "local-https" / "authority.crt")
        for words in (["-N", "--empty-password"], ["-A", "-n", "ohmstead", "-t", "C,,", "-i", authority]):
            subprocess.run([certutil, *words, "-d", f"sql:{store}"], check=True, capture_output=True)
        page = open_scanner(film, home=tmp_path / "trusting")
        open_sheet(page, address, world)
        assert page.evaluate(CAPABILITIES) == [True, True, True]
        page.get_by_role("button", name="Scan").tap()
        expect(page.get_by_role("heading", level=1)).to_have_text("0001 Kettle")
        cookies = page.context.cookies()
        assert cookies and all(cookie["secure"] for cookie in cookies)
