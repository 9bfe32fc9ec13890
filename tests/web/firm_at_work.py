"""A firm in the middle of its work: a row for everything that an address can name, and browsers for everybody.

It is made once a run, which takes ten seconds. Putting it back writes one file, and nothing where nothing was written
since, so that every request of a long table starts from the same state.
"""

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlalchemy import select

from app.actions import (
    base_rates,
    calendar_feeds,
    certificates,
    claims,
    credit_notes,
    customers,
    house_limits,
    instruments,
    invoices,
    item_certificates,
    items,
    labels,
    papers,
    payments,
    people,
    photos,
    planners,
    prices,
    proposals,
    quotes,
    readings,
    recall_letters,
    recalls,
    reference_checks,
    repeat_agreements,
    saved_views,
    share_links,
    visits,
    working_times,
)
from app.actions.credit_notes import CreditRequest
from app.actions.deeds import Desk
from app.main import create_app
from app.rules.base_rates import BaseRateDetails
from app.rules.certificates import list_photo_ids
from app.rules.checks import Check
from app.rules.credit_notes import CreditWish
from app.rules.customers import ContactDetails
from app.rules.entries import Entry
from app.rules.house_limits import HouseLimitDetails
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.label_sheets import Feed, LabelSheetDetails
from app.rules.people import Role
from app.rules.quantities import Reading, Unit
from app.rules.reference_checks import ReferenceDetails
from app.rules.repeats import Repeat
from app.rules.tablets import LocalNetwork
from app.rules.uncertainties import MeasuringRange
from app.rules.verdicts import Outcome
from app.rules.visits import Booking, NotTested
from app.rules.working_times import BookingRules, DayOff
from app.settings import Settings
from app.store.calendar_feeds import list_calendar_feeds
from app.store.certificates import get_certificate
from app.store.database import Base, Database
from app.store.items import get_item
from app.store.readings import list_visit_items
from app.store.recalls import list_recall_hits
from app.store.share_links import find_share_link
from tests.cast import Browse, Clock, World, make_world
from tests.pictures import photo
from tests.web.firm_keys import firm_keys
from tests.web.firm_rows import account_by_mail, bank_statement, customers_word

CODE = "ab12cd34"
#: Nobody is a browser that has only seen the sign-in page; the one who left and the one whose time is up kept a cookie.
STRANGERS = ("nobody", "left", "expired")
STAFF = tuple(role.value for role in Role)


@dataclass
class FirmAtWork:
    """The app with its database file, the ids for its addresses, and for each person cookies and a form token."""

    app: FastAPI
    file: Path
    clock: Clock
    world: World
    ids: dict[str, str]
    booked_id: str
    finished_id: str
    draft_id: str
    draft_quote_id: str
    keys: dict[str, tuple[dict[str, str], str]]
    begun_at: datetime = field(init=False)
    begun: bytes = field(init=False)
    digest: str = field(init=False)

    def __post_init__(self) -> None:
        self.database.close()
        self.begun_at, self.begun, self.digest = self.clock.now, self.file.read_bytes(), self._digest()
        for folder in self.folders:
            shutil.copytree(folder, folder.with_suffix(".kept"))

    @property
    def folders(self) -> tuple[Path, Path]:
        """Issued papers and keys."""
        return self.app.state.desk.papers_folder, self.app.state.desk.keys_folder

    def begin_anew(self) -> None:
        """Make database, files and clock what they were at the start, for another module of tests."""
        self.put_back()
        self.clock.now = self.begun_at
        for folder in self.folders:
            shutil.rmtree(folder)
            shutil.copytree(folder.with_suffix(".kept"), folder)

    @property
    def database(self) -> Database:
        database: Database = self.app.state.desk.database
        return database

    def browse(self, who: str) -> Browse:
        """The browser of nobody, left, expired, technician, office or owner."""
        cookies, token = self.keys[who]
        return Browse(self.app, cookies, token)

    def put_back(self) -> None:
        """Make the database what it was at the start."""
        if self._is_as_begun():
            return
        self.database.close()
        for ending in ("-wal", "-shm", "-journal"):
            self.file.with_name(self.file.name + ending).unlink(missing_ok=True)
        self.file.write_bytes(self.begun)

    def _is_as_begun(self) -> bool:
        """Whether nothing was committed since: the file is the same to the byte, and nothing waits beside it."""
        beside = self.file.with_name(f"{self.file.name}-wal")
        return not (beside.exists() and beside.stat().st_size) and self.file.read_bytes() == self.begun

    def address(self, method: str, path: str) -> str:
        """The address of a real row: what is edited is still open, what is printed is issued."""
        ids = dict(self.ids)
        if re.match(r"(/planner)?/visits/\{visit_id\}(/(edit|start|cancel|move|pool|letters.*))?$", path):
            ids["visit_id"] = self.booked_id
        if path == "/planner/book" and method == "GET":
            path += "?premises={premises_id}"
        if "/doubts/" in path:
            ids["instrument_id"] = ids["failed_instrument_id"]
        if path.startswith("/calendar/"):
            ids["token"] = ids["calendar_token"]
        if path.startswith("/s/"):
            ids["photo_id"], ids["item_id"] = ids["shared_photo_id"], ids["failed_item_id"]
            ids["paper_id"] = ids["certificate_id"]
        if re.search(r"/(certificate|invoice|share-links.*)$", path):
            ids["visit_id"] = self.finished_id
        if path.startswith("/tasks/"):
            ids["photo_id"] = ids["task_photo_id"]
        if path in ("/share-links/new", "/share-links/preview", "/mails/new"):
            path += "?opens=customer&id={customer_id}"
        if re.search(r"/invoices/\{invoice_id\}(/(edit|parts/totals|discard|issue))?$", path) and (
            method == "POST" or not path.endswith("}")
        ):
            ids["invoice_id"] = self.draft_id
        if path.endswith("/labels.pdf"):
            path += "?sheet={label_sheet_id}&item={item_id}"
        if re.search(r"/quotes/\{quote_id\}(/(edit|discard|issue))?$", path) and (
            method == "POST" or not path.endswith("}")
        ):
            ids["quote_id"] = self.draft_quote_id
        if path.startswith("/customers/"):
            ids["agreement_id"] = ids["customer_agreement_id"]
        if "/reminder" in path:  # written to somebody who owes something overdue
            ids["customer_id"] = ids["late_customer_id"]
        return path.format(**ids)

    def contents(self) -> str:
        """A digest of every row of every table; read only where anything was written at all."""
        return self.digest if self._is_as_begun() else self._digest()

    def _digest(self) -> str:
        digest = sha256()
        with self.database.reading() as session:
            for table in Base.metadata.sorted_tables:
                for row in session.execute(select(table).order_by(*table.primary_key.columns)):
                    digest.update(repr((table.name, tuple(row))).encode())
        return digest.hexdigest()


@contextmanager
def running_firm(template: Path, folder: Path) -> Iterator[FirmAtWork]:
    """Make the firm in a new folder, from a migrated database."""
    file = folder / "ohmstead.db"
    shutil.copyfile(template, file)
    clock = Clock()
    app = create_app(Settings(data_folder=folder, address="https://office.tarn-alder.example"), clock, CODE)
    app.state.local_network = LocalNetwork(
        "office-pc.local", ("192.168.1.20",), 8765, 8766, b"the authority", "AB:CD", date(2036, 1, 1), date(2027, 1, 1),
        other_hosts=("testserver",),
    )  # fmt: skip
    desk: Desk = app.state.desk
    world = make_world(desk)
    with desk.doing(world.owner) as deed:
        contact = customers.add_contact(deed, world.customer_id, ContactDetails("Ada Lomas"))
        own = prices.agree_prices(deed, None, date(2025, 1, 1), 120)
        agreed = prices.agree_prices(deed, world.customer_id, date(2025, 1, 1), 110)
        check, unit = Check.INSULATION_RESISTANCE, Unit.MEGOHM
        own_limit = house_limits.set_house_limit(deed, HouseLimitDetails(check, Decimal(5), "Damp", desk.today))
        ranges = MeasuringRange(check, unit, Decimal(0), Decimal(200), Decimal(5), Decimal(2), Decimal("0.01"))
        entered = instruments.add_range(deed, world.instrument_id, ranges)
        kept = LabelSheetDetails("Roll", Feed.ROLL, Decimal(50), Decimal(25))
        label_sheet = labels.add_label_sheet(deed, kept, desk.public_address)
        number_run = labels.reserve_numbers(deed, world.customer_id, 10)
        held = CalibrationDetails(desk.today - timedelta(days=90), desk.today + timedelta(days=275), "CAL-26-0201")
        calibration = instruments.add_calibration(deed, world.instrument_id, held, b"%PDF-1.4\n%%EOF\n")
        known = ReferenceDetails(
            "1 Ω resistor", Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Decimal(1), Unit.OHM, Decimal(5)
        )
        reference = reference_checks.add_reference_item(deed, world.instrument_id, known)
        shown = {reference.id: Reading(Decimal("1.01"), Unit.OHM)}
        [checked] = reference_checks.record_reference_checks(deed, world.instrument_id, shown)
        broken = instruments.add_instrument(deed, InstrumentDetails("Old tester", "O-1"))
        failed = instruments.add_calibration(deed, broken.id, replace(held, certificate_number="X", passed=False))
        visits.start_visit(deed, world.visit_id)
        taken = photos.add_photo(deed, world.visit_id, world.item_ids[0], photo(64, 48))
        tomorrow = desk.today + timedelta(days=1)
        run = proposals.ask_for_proposals(deed, [world.premises_id], tomorrow, 2, 30)
        proposal_id = run.proposals[0].id
        day_off = working_times.give_day_off(deed, DayOff(world.technician.id, tomorrow, tomorrow))
        working_times.set_booking_rules(deed, BookingRules())
        way = working_times.set_travel_time(deed, world.premises_id, None, 20)
        view = saved_views.save_view(deed, "At the school", "/visits", "q=brackenhow", shared=True)
    issued_visit, drafted_visit = _finished(desk, world), _finished(desk, world)
    with pytest.MonkeyPatch.context() as bound:
        bound.setattr("app.documents.parts.MOST_ROWS", 2)  # a certificate in parts, of three items
        certificate_id = certificates.issue_certificate(desk, world.office, issued_visit)
        part_paper_id = papers.issue_register(desk, world.office, world.other_customer_id)
    paper_id = item_certificates.issue_item_certificate(desk, world.office, world.other_item_ids[0])
    with desk.doing(world.office) as deed:
        issued, draft = (invoices.draft_invoice(deed, visit).id for visit in (issued_visit, drafted_visit))
    invoices.issue_invoice(desk, world.office, issued)
    with desk.doing(world.office) as deed:
        quoted, quote_draft = (quotes.draft_quote(deed, world.premises_id).id for _ in range(2))
    quotes.issue_quote(desk, world.office, quoted)
    with desk.doing(world.office) as deed:
        payment = payments.record_payment(deed, issued, desk.today, 100)
        bank_file, bank_line = bank_statement(deed)
        rate = base_rates.enter_base_rate(deed, BaseRateDetails(date(2020, 1, 1), Decimal("0.1"), "The Bank's page"))
        token = share_links.make_share_link(deed, issued_visit)
        link = find_share_link(deed.session, people.hash_of(token))
        assert link is not None
        word = customers_word(deed, link, world.technician.id)
        certificate = get_certificate(deed.session, certificate_id)
        code, certified = certificate.code, certificate.data
        get_item(deed.session, world.item_ids[1]).next_due_on = desk.today + timedelta(days=40)
        wanted = planners.want_visit(deed, world.premises_id, desk.today + timedelta(days=9))
        repeat = repeat_agreements.agree_repeat(deed, world.premises_id, Repeat(desk.today + timedelta(days=20), 12))
        calendar_token = calendar_feeds.make_calendar_feed(deed, world.technician.id)
        [feed] = list_calendar_feeds(deed.session)
    mail_ids = account_by_mail(desk, world)
    note_id, claim_id = _credited_and_claimed(desk, world, clock)
    recall_list, recall_hit, recall_letter = _recalled(desk, world)
    ids = {
        "kind": "csv",
        "saved_view_id": view.id,
        "recall_list_id": recall_list,
        "recall_hit_id": recall_hit,
        "recall_letter_id": recall_letter,
        "credit_note_id": note_id,
        "claim_id": claim_id,
        "bank_file_id": bank_file,
        "bank_line_id": bank_line,
        "base_rate_id": rate.id,
        "late_customer_id": world.other_customer_id,
        "rulebook_id": "en-50699",
        "house_limit_id": own_limit.id,
        "range_id": entered.id,
        "label_sheet_id": label_sheet.id,
        "number_run_id": number_run.id,
        "number": "0001",
        "calibration_id": calibration.id,
        "check_id": checked.id,
        "failed_instrument_id": broken.id,
        "doubt_key": f"calibration-{failed.id}",
        "reference_id": reference.id,
        "customer_id": world.customer_id,
        "contact_id": contact.id,
        "premises_id": world.premises_id,
        "location_id": world.location_id,
        "item_id": world.item_ids[0],
        "equipment_type_id": world.equipment_type_id,
        "environment": "school",
        "instrument_id": world.instrument_id,
        "visit_id": world.visit_id,
        "certificate_id": certificate_id,
        "paper_id": paper_id,
        "invoice_id": issued,
        "quote_id": quoted,
        "payment_id": payment.id,
        "agreement_id": own.id,
        "customer_agreement_id": agreed.id,
        "share_link_id": link.id,
        **word,
        "photo_id": taken.id,
        "person_id": world.technician.id,
        "token": token,
        "shared_photo_id": list_photo_ids(certified)[0],
        "code": code,
        "part_paper_id": part_paper_id,
        "part_place": 1,
        "drawn_paper": "certificate",
        "drawn_id": certificate_id,
        **mail_ids,
        "wanted_id": wanted.id,
        "repeat_id": repeat.id,
        "feed_id": feed.id,
        "calendar_token": calendar_token,
        "run_id": run.id,
        "proposal_id": proposal_id,
        "day_off_id": day_off.id,
        "travel_time_id": way.id,
    }
    texts = {name: str(value) for name, value in ids.items()}
    keys = firm_keys(desk, world, clock)
    yield FirmAtWork(
        app, file, clock, world, texts, str(world.other_visit_id), str(issued_visit), str(draft), str(quote_draft), keys
    )
    app.state.desk.database.close()


def _finished(desk: Desk, world: World) -> int:
    """A finished visit at the other customer's premises: one item failed, the rest not found."""
    with desk.doing(world.owner) as deed:
        booking = Booking(world.other_premises_id, world.technician.id, world.instrument_id, desk.today)
        visit_id = visits.book_visit(deed, booking).id
        visits.start_visit(deed, visit_id)
        failed = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="The plug is cracked")]
        for number, row in enumerate(list_visit_items(deed.session, visit_id)):
            if number == 0:
                readings.record_item(deed, visit_id, row.item_id, failed)
                photos.add_photo(deed, visit_id, row.item_id, photo(64, 48))
            else:
                readings.leave_item(deed, visit_id, row.item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, visit_id)
    return visit_id


def _credited_and_claimed(desk: Desk, world: World, clock: Clock) -> tuple[int, int]:
    """A credit note and a claim for an invoice that was due long ago and is still not paid."""
    now = clock.now
    clock.now = now - timedelta(days=60)
    visit_id = _finished(desk, world)
    with desk.doing(world.office) as deed:
        late = invoices.draft_invoice(deed, visit_id).id
    invoices.issue_invoice(desk, world.office, late)
    wish = CreditRequest((CreditWish(0),), "Counted twice", desk.today)
    note_id = credit_notes.issue_credit_note(desk, world.office, late, wish)
    clock.now = now
    return note_id, claims.claim_late_payment(desk, world.office, late, interest=False, fixed_sum=True)


def _recalled(desk: Desk, world: World) -> tuple[int, int, int]:
    """A list that waits for its columns, an item to look at, and the letter about another one."""
    notices = b"Brand,Model,Hazard\nHobbin,HK 220,Fire\n"
    with desk.doing(world.owner) as deed:
        for item_id in world.other_item_ids[:2]:
            named = replace(get_item(deed.session, item_id).details, make="Hobbin", model="HK220")
            items.change_item(deed, item_id, named)
        taken = recalls.upload_recall_list(deed, "January", notices)
        recalls.take_in_recall_list(deed, taken.id, taken.columns)
        waiting = recalls.upload_recall_list(deed, "February", notices)
        confirmed, proposed = list_recall_hits(deed.session)
        recalls.confirm_hit(deed, confirmed.id, "", out_of_use=False)
        letter, _ = recall_letters.write_recall_letter(deed.session, world.other_customer_id, "Ines Tarn")
        kept = recall_letters.keep_recall_letter(deed, world.other_customer_id, letter)
    return waiting.id, proposed.id, kept.id
