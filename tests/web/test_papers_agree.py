"""Generated visits told four times, by the PDFs, the pages, the CSV files and the database: all of them say the same.

Twenty-two fields of each visit. What is expected is put into words here, by code that shares nothing with the app's.
The long run takes 200 visits.
"""

import csv
import io
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import pytest

from app.actions import certificates, customers, invoices, items, premises, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.rules.customers import CustomerDetails, PremisesDetails
from app.rules.entries import Entry
from app.rules.equipment import Construction, Cord, Environment, Use
from app.rules.items import ItemDetails
from app.rules.quantities import Bound, Reading, Unit
from app.rules.visits import Booking
from app.store.certificates import get_certificate
from app.store.invoices import get_invoice
from app.store.readings import VisitItemRow, list_visit_items
from app.store.visits import get_visit
from tests.cast import DRILL, KETTLE, Browse, BrowseAs, Clock, World
from tests.documents.reading_back import attached, text_of
from tests.finished_visits import EARTH, INSULATION, LOOKED_AT
from tests.web.page_text import words_of

#: Invented, in the letters that customers write them in.
NAMES = (
    "Młyn Żubr & Synowie",
    "Καφενείο Ελιά",
    "O’Hara & Daughters",
    "Çınar Fırını",
    "Näveå Bröd AB",
    "The Very Long-Named Company of Wheelwrights, Coopers and Clockmakers of Nether Millbeck",
)
PLACES = ("Upper hall", "Küche", "Store 2 <north>", "Pokój nr 7", "Αίθουσα Β", "Lab “C”")
THINGS = ("Kettle", "Soldering iron", "Bouilloire n° 3", "Żelazko", "Fräse", "Projector & lamp")
MAKES = ("Beck", "Ørsted-Ahl", "Fell & Co", "Čapek")


@dataclass(frozen=True)
class Made:
    visit_id: int
    certificate_id: int
    invoice_id: int


@dataclass
class Sources:
    """Everything that tells of one visit. sheets: the page of each item's readings, by its number."""

    certificate: str
    invoice: str
    certificate_page: str
    visit_page: str
    invoice_page: str
    sheets: dict[str, str]
    readings: list[dict[str, str]]
    sales: dict[str, str]


def make(desk: Desk, world: World, clock: Clock, chance: random.Random, place: int) -> Made:
    """A customer with one to three items, tested with readings by chance; certificate and invoice are issued."""
    clock.pass_time(days=chance.randint(0, 1), minutes=chance.randint(1, 50))
    customer_details = CustomerDetails(f"{chance.choice(NAMES)} {place}", f"{place} Mill Lane\nMillbeck", "ZZ1 1AA")
    details = PremisesDetails(f"Site {place}", f"{place} Beck Row\nMillbeck", "ZZ1 3AC", Environment.OFFICE)
    with desk.doing(world.owner) as deed:
        customer = customers.add_customer(deed, replace(customer_details, dutyholder="The manager"))
        site = premises.add_premises(deed, customer.id, details)
        location_id = premises.add_location(deed, site.id, chance.choice(PLACES)).id
        for _ in range(chance.randint(1, 3)):
            cord = Cord(Decimal("0.75"), Decimal(chance.randint(5, 40)) / 10)
            items.add_item(
                deed,
                ItemDetails(
                    "",
                    chance.choice(THINGS),
                    location_id,
                    make=chance.choice(MAKES),
                    model=f"M{chance.randint(1, 999)}",
                    serial=f"S{chance.randint(100_000, 999_999)}",
                    facts=replace(chance.choice((KETTLE, DRILL)), cord=cord),
                ),
            )
        visit_id = visits.book_visit(deed, Booking(site.id, world.technician.id, world.instrument_id, desk.today)).id
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, visit_id)
        for row in list_visit_items(deed.session, visit_id):
            record_item(deed, visit_id, row.item_id, list(entries(row, chance)))
        visits.finish_visit(deed, visit_id)
    certificate_id = certificates.issue_certificate(desk, world.office, visit_id)
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, visit_id).id
    invoices.issue_invoice(desk, world.office, invoice_id)
    return Made(visit_id, certificate_id, invoice_id)


def entries(row: VisitItemRow, chance: random.Random) -> Iterator[Entry]:
    """Readings well within the limits or well outside; after a failed earth nothing else is measured."""
    yield LOOKED_AT
    if row.item.construction == "I":
        failing = chance.random() < 0.2
        ohm = Decimal(chance.randint(250, 900) if failing else chance.randint(1, 99)) / 1000
        yield Entry(EARTH, Reading(ohm, Unit.OHM, Bound.EXACT))
        if failing:
            return
    megohm = Decimal(chance.randint(1, 9) if chance.random() < 0.2 else chance.randint(21, 1999)) / 10
    bound = Bound.ABOVE if megohm > 20 and chance.random() < 0.5 else Bound.EXACT
    yield Entry(INSULATION, Reading(megohm, Unit.MEGOHM, bound))


def look(browse: Browse, desk: Desk, made: Made) -> Sources:
    with desk.reading_only() as session:
        rows = [(row.item.number, row.item_id) for row in list_visit_items(session, made.visit_id)]
        invoice_number = get_invoice(session, made.invoice_id).number
    visit, certificate, invoice = (
        f"/visits/{made.visit_id}",
        f"/certificates/{made.certificate_id}",
        f"/invoices/{made.invoice_id}",
    )
    paper = browse.get(f"{certificate}/paper.pdf").content
    (table,) = (content for name, content in attached(paper).items() if name.endswith(".csv"))
    sales = lines_of(browse.get("/vat-summary.csv?from=2026-01-01&to=2027-12-31").content)
    return Sources(
        text_of(paper),
        text_of(browse.get(f"{invoice}/paper.pdf").content),
        words_of(browse.get(certificate)),
        words_of(browse.get(visit)),
        words_of(browse.get(invoice)),
        {number: words_of(browse.get(f"{visit}/items/{item_id}")) for number, item_id in rows},
        lines_of(table),
        next(line for line in sales if line["number"] == invoice_number),
    )


def lines_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


def long_day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def short_day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def pounds(pence: int) -> str:
    return f"{pence // 100}.{pence % 100:02d}"


def expect_told(text: str, where: str, phrases: Iterable[str]) -> None:
    for words in phrases:
        assert words in text, f"{where}: {words}"


def check_certificate(desk: Desk, made: Made, told: Sources) -> None:
    """Number, two days, customer, premises, address, technician, instrument, two counts."""
    with desk.reading_only() as session:
        row, visit = get_certificate(session, made.certificate_id), get_visit(session, made.visit_id)
        site = visit.premises
        street, town = site.address.split("\n")
        counts = {state: sum(each.verdict == state for each in list_visit_items(session, made.visit_id))
                  for state in ("pass", "fail")}  # fmt: skip
        assert (row.passed, row.failed) == (counts["pass"], counts["fail"])
        expect_told(
            told.certificate,
            f"certificate {row.number}",
            [
                f"Number {row.number}",
                f"Customer {site.customer.name}",
                f"Place of the work {site.name} {street} {town} {site.postcode}",
                f"Tested {long_day(visit.booked_on)}",
                f"Issued {long_day(row.issued_on)}",
                f"Tested by {visit.technician.name}",
                f"{counts['pass']} passed",
                f"{counts['fail']} failed",
                f"{visit.instrument.name} {visit.instrument.serial}",
            ],
        )
        expect_told(
            told.certificate_page,
            f"page of {row.number}",
            [
                f"Certificate {row.number}",
                f"{site.customer.name}, {site.name}",
                f"Issued {short_day(row.issued_on)}",
                f"passed {counts['pass']}",
                f"failed {counts['fail']}",
            ],
        )
        expect_told(
            told.visit_page,
            f"visit of {row.number}",
            [
                f"Address {street}, {town}, {site.postcode}",
                f"Technician {visit.technician.name}",
                f"Instrument {visit.instrument.name}, {visit.instrument.serial}",
                f"{counts['pass']} passed",
                f"{counts['fail']} failed",
            ],
        )
        assert {line["certificate"] for line in told.readings} == {row.number}
        assert {line["tested_on"] for line in told.readings} == {visit.booked_on.isoformat()}


def check_item(row: VisitItemRow, told: Sources) -> None:
    """Number, description, make and model, serial number, location, verdict, next test, and each reading."""
    item = row.item
    start = f"{item.number} {item.description} {row.verdict}"
    assert told.certificate.count(start) == 1, start
    own = told.certificate.split(start)[1].split(" serial ", 2)
    part, sheet = " serial ".join(own[:2]), told.sheets[item.number]
    lines = [line for line in told.readings if line["item"] == item.number]
    assert part.strip().startswith(f"{item.make} {item.model}, serial {item.serial} "), start
    assert item.location.name in part
    assert f"{item.number} {item.description}" in sheet and item.location.name in sheet
    assert f"{row.verdict} saved" in sheet
    for line in lines:
        assert (line["description"], line["location"], line["verdict"], line["product"]) == (
            item.description, item.location.name, row.verdict, f"{item.make} {item.model}, serial {item.serial}",
        )  # fmt: skip
    if row.next_due_on is not None and row.verdict == "pass":
        # HSE INDG236: for double insulated equipment and for office IT an inspection falls due first, or alone.
        looks = row.facts.construction is Construction.CLASS_II or row.facts.use is Use.IT
        told_as = "formal visual inspection due" if looks else "next test due"
        assert f"{told_as} {short_day(row.next_due_on)}" in part
        assert f"Next due {short_day(row.next_due_on)}" in sheet
        assert {line["next_due_on"] for line in lines} == {row.next_due_on.isoformat()}
    measured = {line["check"]: line for line in lines}
    assert set(measured) == {each.check for each in row.readings}
    for reading in row.readings:
        if reading.value is None:
            continue
        unit, line = {"ohm": "Ω", "Mohm": "MΩ"}[reading.unit], measured[reading.check]
        words = f"{'> ' if reading.bound == 'above' else ''}{reading.value:f} {unit}"
        assert f" {words}" in part, f"{item.number}: {words}"
        assert f" {words}" in sheet, f"{item.number}: {words}"
        assert (line["reading_bound"], Decimal(line["reading"]), line["unit"]) == (
            "above" if reading.bound == "above" else "", reading.value, unit,
        )  # fmt: skip
        assert line["outcome"] == reading.outcome


def check_invoice(desk: Desk, made: Made, told: Sources) -> None:
    """Number, two days, net, VAT and total."""
    with desk.reading_only() as session:
        row = get_invoice(session, made.invoice_id)
        assert row.issued_on is not None and row.due_on is not None
        net, vat, gross = (f"£{pounds(pence)}" for pence in (row.net_pence, row.vat_pence, row.gross_pence))
        expect_told(
            told.invoice,
            f"invoice {row.number}",
            [
                f"Number {row.number}",
                f"Invoice to {row.customer.name}",
                f"Invoice date {long_day(row.issued_on)}",
                f"Payment due {long_day(row.due_on)}",
                f"Total without VAT {net} VAT {vat} Total to pay {gross}",
            ],
        )
        expect_told(
            told.invoice_page,
            f"page of {row.number}",
            [
                f"Invoice {row.number} {row.customer.name}",
                f"Total without VAT {net} VAT 20% of {net} {vat} Total to pay {gross}",
                f"Issued {short_day(row.issued_on)}",
                f"Due {short_day(row.due_on)}",
            ],
        )
        sold = told.sales
        assert (sold["customer"], sold["issued_on"], sold["net"], sold["vat"], sold["gross"]) == (
            row.customer.name, row.issued_on.isoformat(),
            pounds(row.net_pence), pounds(row.vat_pence), pounds(row.gross_pence),
        )  # fmt: skip


@pytest.mark.parametrize("count", [8, pytest.param(200, marks=pytest.mark.long)])
def test_papers_pages_files_and_database_agree(
    desk: Desk, world: World, clock: Clock, browse_as: BrowseAs, count: int
) -> None:
    chance = random.Random(20)
    verdicts: set[str] = set()
    for place in range(count):
        made = make(desk, world, clock, chance, place + 1)
        told = look(browse_as(world.owner), desk, made)
        check_certificate(desk, made, told)
        with desk.reading_only() as session:
            for row in list_visit_items(session, made.visit_id):
                check_item(row, told)
                verdicts.add(row.verdict or "")
        check_invoice(desk, made, told)
    assert verdicts == {"pass", "fail"}
