"""The check of a paper in a real browser: the file is compared on the device, over plain HTTP too, and never sent."""

import hashlib
import random
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.actions import certificates, invoices
from app.actions.deeds import Desk
from app.store.certificates import get_certificate
from app.store.database import Database
from app.store.invoices import get_invoice
from tests.browser import PLAIN_HOST, OpenPage
from tests.cast import LONDON, make_world
from tests.finished_visits import work_through
from tests.servers import RunningApp, running_app
from tests.tampering import false_copies

YES, NO = "This is the issued paper", "Not the issued paper"


@pytest.fixture(scope="module")
def both(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[RunningApp, dict[str, tuple[str, bytes]]]]:
    """The running app; of a certificate and an invoice the path of its check and the paper itself."""
    folder = tmp_path_factory.mktemp("check") / "data"
    folder.mkdir()
    (folder / "ohmstead.db").write_bytes(sqlite_template.read_bytes())
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    desk = Desk(database, folder / "papers", "https://office.tarn-alder.example", LONDON, lambda: datetime.now(UTC))
    world = make_world(desk)
    work_through(desk, world.technician, world.visit_id)
    certificate_id = certificates.issue_certificate(desk, world.office, world.visit_id)
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, world.visit_id).id
    invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.reading_only() as session:
        codes = {"certificate": get_certificate(session, certificate_id).code}
        codes["invoice"] = (get_invoice(session, invoice_id).data or {})["check"]["code"]
    database.close()
    files = {"certificate": "C-000001.pdf", "invoice": "INV-000001.pdf"}
    with running_app(folder) as app:
        yield (
            app,
            {name: (f"/check/{codes[name]}", (folder / "papers" / file).read_bytes()) for name, file in files.items()},
        )


@pytest.fixture
def checked(both: tuple[RunningApp, dict[str, tuple[str, bytes]]]) -> tuple[RunningApp, str, bytes]:
    """The running app, the path of a certificate's check, and the certificate itself."""
    app, papers = both
    return app, *papers["certificate"]


def choose(page: Page, content: bytes) -> None:
    page.get_by_label("Drop the PDF here").set_input_files(
        {"name": "paper.pdf", "mimeType": "application/pdf", "buffer": content}
    )


@pytest.mark.parametrize(("paper", "secure"), [("certificate", True), ("certificate", False), ("invoice", True)])
def test_the_issued_paper_is_known_and_every_false_copy_is_not(
    both: tuple[RunningApp, dict[str, tuple[str, bytes]]], open_page: OpenPage, paper: str, secure: bool
) -> None:
    app, papers = both
    path, content = papers[paper]
    address = app.address if secure else app.address.replace("127.0.0.1", PLAIN_HOST)
    page = open_page("phone", base_url=address)
    page.goto(path)
    assert page.evaluate("() => window.isSecureContext") is secure
    answer = page.locator("#paper-check [role=status] p").first
    sent: list[str] = []
    page.on("request", lambda request: sent.append(f"{request.method} {request.url}"))
    for what, false in false_copies(content, 14):
        choose(page, content)
        expect(answer).to_have_text(YES)
        choose(page, false)
        expect(answer, what).to_have_text(NO)
    # The browser fetches the page's icon when it finds the time.
    assert [each for each in sent if "/static/icons/" not in each] == []


def test_a_dropped_file_is_judged_as_a_chosen_one(checked: tuple[RunningApp, str, bytes], open_page: OpenPage) -> None:
    app, path, content = checked
    page = open_page("office", base_url=app.address)
    page.goto(path)
    drop = """([bytes, kind]) => {
      const carried = new DataTransfer();
      carried.items.add(new File([new Uint8Array(bytes)], "paper.pdf"));
      document.getElementById("paper-check").dispatchEvent(new DragEvent(kind, {dataTransfer: carried, bubbles: true}));
    }"""
    answer = page.locator("#paper-check [role=status] p").first
    page.evaluate(drop, [list(content), "drop"])
    expect(answer).to_have_text(YES)
    page.evaluate(drop, [list(content[:-2]), "drop"])
    expect(answer).to_have_text(NO)


def test_our_own_sha256_gives_what_the_standard_gives(
    checked: tuple[RunningApp, str, bytes], open_page: OpenPage
) -> None:
    # The examples that NIST publishes with FIPS 180-4: one block, two blocks, and the million times "a" of FIPS 180-2.
    page = open_page("office", base_url=checked[0].address)
    page.goto(checked[1])
    own = "([text, times]) => window.ohmsteadSha256(new TextEncoder().encode(text.repeat(times)))"
    for text, times, digest in (
        ("abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        ("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"),
        ("a", 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ):  # fmt: skip
        assert page.evaluate(own, [text, times]) == digest
    chance = random.Random(180)
    of_bytes = "bytes => window.ohmsteadSha256(new Uint8Array(bytes))"
    for length in (0, 1, 55, 56, 57, 63, 64, 65, 119, 120, 128, 1000):
        content = chance.randbytes(length)
        assert page.evaluate(of_bytes, list(content)) == hashlib.sha256(content).hexdigest(), length
