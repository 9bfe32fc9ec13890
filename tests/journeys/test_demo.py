"""The demo, made as a newcomer makes it: the account it prints is true, and a second start changes nothing."""

import hashlib
import re
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from app.rules.instrument_standings import list_worries
from app.store.certificates import list_certificates
from app.store.database import Database
from app.store.doubts import list_all_doubts, list_doubtful_records, list_doubts_of_visit, list_papers_of_records
from app.store.invoices import list_invoices
from app.store.planners import list_planned_visits
from app.store.premises import list_premises
from app.store.reference_checks import facts_of_standing
from tests.servers import ROOT


def run_demo(folder: Path) -> str:
    command = [sys.executable, "-m", "app", "demo", "--once", "--data", str(folder)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    folder = tmp_path_factory.mktemp("made") / "demo"
    return folder, run_demo(folder)


def test_the_account_is_true(demo: tuple[Path, str]) -> None:
    folder, account = demo
    counts = re.search(r"(\d+) items: (\d+) passed, (\d+) failed", account)
    amounts = re.search(r"£([\d,]+\.\d\d) \+ £([\d,]+\.\d\d) VAT = £([\d,]+\.\d\d)", account)
    papers = [Path(name) for name in re.findall(r"\S+\.pdf", account)]
    assert counts and amounts and len(papers) == 2
    certificate, invoice = (
        "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(paper)) for paper in papers
    )
    assert f"{counts[2]} of {counts[1]} items passed" in " ".join(certificate.split())
    assert f"£{amounts[3]}" in invoice
    assert "password" in account and "/s/" in account


def test_every_paper_is_what_was_issued(demo: tuple[Path, str]) -> None:
    folder, _ = demo
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    with database.reading() as session:
        rows: list[Any] = [
            *list_certificates(session, limit=1000),
            *(row for row in list_invoices(session, limit=1000) if row.number),
        ]
        assert len(rows) > 40
        for row in rows:
            assert hashlib.sha256((folder / "papers" / row.file_name).read_bytes()).hexdigest() == row.sha256
        assert len(list_premises(session)) == 8
        numbers = sorted(row.number or "" for row in rows)
        corrections = [number for number in numbers if number.endswith("-R2")]
        assert len(corrections) == 1 and corrections[0].removesuffix("-R2") in numbers
        for prefix in ("C-", "INV-"):
            series = [number for number in numbers if number.startswith(prefix) and number not in corrections]
            assert series == [f"{prefix}{place:06}" for place in range(1, len(series) + 1)]
    database.close()


def test_a_tester_failed_lately_and_the_firm_stays_in_order(demo: tuple[Path, str]) -> None:
    """What one failure put in doubt is decided, what the newer one did waits; today's papers rest on another tester."""
    folder, account = demo
    found = re.search(r"\(visit (\d+)\)", account)
    assert found
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    with database.reading() as session:
        newer, older = list_all_doubts(session)
        assert newer.instrument is older.instrument and newer.doubt.failed_on > older.doubt.failed_on
        assert older.readings and not older.unanswered and older.answers[0].decided
        assert newer.unanswered == newer.readings and not newer.answers
        records = list_doubtful_records(session, newer, newer.doubt.check)
        certificates, _ = list_papers_of_records(session, records)
        assert {each.customer for each in records} == {"Harbour Row Offices", "Low Mill Care Home"}
        assert {each.visit_id for each in records} == set(certificates)
        assert list_doubts_of_visit(session, int(found[1])) == []
        assert not list_worries(facts_of_standing(session, newer.instrument), date.today())
    database.close()


def test_a_booked_visit_takes_two_days_in_a_row(demo: tuple[Path, str]) -> None:
    folder, _ = demo
    database = Database(f"sqlite:///{folder / 'ohmstead.db'}")
    with database.reading() as session:
        today = date.today()
        [visit] = [row for row in list_planned_visits(session, today, today + timedelta(days=20)) if row.last_on]
        assert visit.customer.name == "Saltgate Brewery" and visit.state == "booked"
        assert [each.minutes for each in visit.held] == [180, 180]
        # Bank holidays may lie between the two.
        assert today < visit.booked_on and visit.until - visit.booked_on <= timedelta(days=7)
    database.close()


def test_a_second_start_makes_nothing_new(demo: tuple[Path, str]) -> None:
    folder, account = demo
    before = (folder / "ohmstead.db").read_bytes()
    assert run_demo(folder).strip() == account[account.index("Tarn & Alder") :].strip()
    assert (folder / "ohmstead.db").read_bytes() == before


def test_a_firm_is_never_taken_for_a_demo(sqlite_url: str, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "app", "demo", "--once", "--data", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "holds the data of a firm" in done.stderr
