"""A customer on a phone opens the folder, takes its ZIP and reports a remedy with a photo; a passed test settles it."""

import io
import zipfile
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import FilePayload, expect

from app.actions import certificates, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.actions.share_links import share
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.share_links import LinkScope
from app.rules.verdicts import Outcome
from app.rules.visits import Booking
from app.store.database import Database
from tests.browser import OpenPage
from tests.cast import LONDON, PASSWORD, make_world
from tests.finished_visits import GOOD, INSULATED, LOOKED_AT, work_through
from tests.pictures import photo
from tests.servers import running_app

CUT = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Cord cut near the plug")]


def test_a_word_from_a_phone_reaches_the_office_and_a_test_closes_the_defect(
    sqlite_template: Path, tmp_path: Path, open_page: OpenPage
) -> None:
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / "ohmstead.db").write_bytes(sqlite_template.read_bytes())
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    desk = Desk(database, folder / "papers", "https://office.tarn-alder.example", LONDON, lambda: datetime.now(UTC))
    world = make_world(desk)
    work_through(desk, world.technician, world.visit_id, (GOOD[0], CUT, GOOD[2]))
    certificates.issue_certificate(desk, world.office, world.visit_id)
    with desk.doing(world.office) as deed:
        link = f"/s/{share(deed, LinkScope(world.customer_id))}"

    with running_app(folder) as app:
        phone = open_page("phone", base_url=app.address)
        phone.goto(link)
        assert phone.evaluate("() => document.documentElement.scrollWidth") == 390
        with phone.expect_download() as saved:
            phone.get_by_role("link", name="The paper as a ZIP").click()
        archive = zipfile.ZipFile(io.BytesIO(saved.value.path().read_bytes()))
        [paper] = [name for name in archive.namelist() if name.endswith(".pdf")]
        assert archive.read(paper) == (folder / "papers" / "C-000001.pdf").read_bytes()
        phone.get_by_role("link", name="Tell us that it is put right").click()
        phone.get_by_label("What was done, and by whom").fill("New cord, by our electrician")
        phone.get_by_label("Your name").fill("Ada Lomas")
        picture: FilePayload = {"name": "IMG_0001.JPG", "mimeType": "image/jpeg", "buffer": photo(900, 600)}
        phone.get_by_label("A photo").set_input_files(picture)
        phone.get_by_role("button", name="Send it").click()
        expect(phone.get_by_text("Your message has reached our office")).to_be_visible()
        phone.get_by_role("link", name="Back to the papers").click()
        expect(phone.get_by_text("that it is put right. It stays out of use")).to_be_visible()

        office = open_page("office", base_url=app.address)
        office.goto("/sign-in")
        office.get_by_label("E-mail").fill("bea@tarn-alder.example")
        office.get_by_label("Password").fill(PASSWORD)
        office.get_by_role("button", name="Sign in").click()
        office.get_by_role("link", name="Said to be put right: 0002 Drill").click()
        expect(office.get_by_text("New cord, by our electrician")).to_be_visible()
        expect(office.get_by_alt_text("Photo sent by Ada Lomas")).to_have_js_property("naturalWidth", 900)
        task = office.url

        with desk.doing(world.office) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
            visit_id = visits.book_visit(deed, booking).id
        with desk.doing(world.technician) as deed:
            visits.start_visit(deed, visit_id)
            record_item(deed, visit_id, world.item_ids[1], [LOOKED_AT, INSULATED])
        office.goto(task)
        expect(office.get_by_text("The item passed its test.")).to_be_visible()
        office.goto("/defects")
        expect(office.get_by_text("No open defect")).to_be_visible()
        phone.goto(link)
        expect(phone.get_by_role("heading", name="To be put right")).to_have_count(0)
    database.close()
