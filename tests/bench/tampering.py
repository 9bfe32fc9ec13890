"""A thousand false copies of one certificate, each put to the check page in Chromium: every one is found out."""

import os
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import expect, sync_playwright

from app.actions import certificates
from app.actions.deeds import Desk
from app.settings import Settings
from app.store.certificates import get_certificate
from app.store.database import Database
from app.store.migrate import upgrade
from tests.browser import FLAGS, ONLY_THIS_COMPUTER, find_chromium
from tests.cast import LONDON, make_world
from tests.finished_visits import work_through
from tests.servers import running_app
from tests.tampering import false_copies

COUNT = 1000


def measure() -> Iterator[tuple[str, float]]:
    """Choose each copy on the page; it stops with an error where one is taken for the paper."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "data"
        folder.mkdir()
        database = Database(Settings(data_folder=folder).database_url)
        upgrade(database.engine)
        desk = Desk(database, folder / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
        world = make_world(desk)
        work_through(desk, world.technician, world.visit_id)
        certificate_id = certificates.issue_certificate(desk, world.office, world.visit_id)
        with desk.reading_only() as session:
            row = get_certificate(session, certificate_id)
            code, content = row.code, (desk.papers_folder / row.file_name).read_bytes()
        database.close()
        as_root = ["--no-sandbox"] if os.name == "posix" and os.geteuid() == 0 else []
        with running_app(folder) as app, sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=find_chromium(), args=[*FLAGS, ONLY_THIS_COMPUTER, *as_root]
            )
            page = browser.new_page(base_url=app.address)
            page.goto(f"/check/{code}")
            answer, found = page.locator("#paper-check [role=status] p").first, 0
            began = time.perf_counter()
            for place, (what, false) in enumerate(false_copies(content, COUNT)):
                name = f"copy-{place}.pdf"
                chosen = {"name": name, "mimeType": "application/pdf", "buffer": false}
                page.get_by_label("Drop the PDF here").set_input_files(chosen)  # type: ignore[arg-type]
                expect(page.locator("#paper-check [role=status]")).to_contain_text(f"{name}” is not", timeout=20_000)
                assert answer.inner_text() == "Not the issued paper", what
                found += 1
            yield f"{found:,} of {COUNT:,} false copies found out", time.perf_counter() - began
            browser.close()
