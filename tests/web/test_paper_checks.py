"""The public check of a certificate: what is on the paper and its SHA-256, and nothing about the customer."""

import re
from hashlib import sha256

import pytest

from app.actions import certificates
from app.actions.deeds import Desk
from app.store.certificates import get_certificate
from tests.cast import Browse, BrowseAs, World
from tests.documents.reading_back import codes_on
from tests.finished_visits import work_through


@pytest.fixture
def nobody(browse_as: BrowseAs) -> Browse:
    return browse_as(None)


@pytest.fixture
def code(desk: Desk, world: World) -> str:
    work_through(desk, world.technician, world.visit_id)
    certificate_id = certificates.issue_certificate(desk, world.office, world.visit_id)
    with desk.reading_only() as session:
        return get_certificate(session, certificate_id).code


def test_the_check_shows_the_paper_and_nothing_of_the_customer(desk: Desk, code: str, nobody: Browse) -> None:
    page = nobody.get(f"/check/{code}")
    assert page.status_code == 200
    said = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.text)).replace("\u00a0", " ")
    hashed = sha256((desk.papers_folder / "C-000001.pdf").read_bytes()).hexdigest()
    for words in ("C-000001", "4 Mar 2026", "3 items", "3 passed", "0 failed", "issued", hashed, "certutil"):
        assert words in said, words
    for secret in ("Brackenhow", "Kettle", "Joss", "High Street"):
        assert secret not in page.text


def test_the_code_on_the_paper_leads_there(desk: Desk, code: str, nobody: Browse) -> None:
    [(address, _)] = codes_on((desk.papers_folder / "C-000001.pdf").read_bytes())
    assert address == f"https://office.tarn-alder.example/check/{code}"
    assert nobody.get(address.removeprefix("https://office.tarn-alder.example")).status_code == 200


def test_a_code_may_be_typed_as_people_type(code: str, nobody: Browse) -> None:
    for typed in (code.lower(), code.replace("-", ""), f" {code.replace('-', ' ')} "):
        assert nobody.get(f"/check/{typed}").status_code == 200
        assert nobody.get("/check", params={"code": typed}).headers["location"] == f"/check/{code}"
    assert nobody.get("/check").status_code == 200
    assert nobody.get("/check?code=--").status_code == 200


def test_an_unknown_code_is_a_plain_404_and_guessing_is_slowed(code: str, nobody: Browse) -> None:
    answers = [nobody.get(f"/check/2222-2222-2222-{number:04}").status_code for number in range(31)]
    assert answers == [404] * 30 + [429]
    assert nobody.get(f"/check/{code}").status_code == 429


def test_strange_codes_are_unknown_codes(code: str, nobody: Browse) -> None:
    for strange in ("C-000001", "1", "%00", "..%2F..%2Fsettings", "x" * 3000, "%F0%9F%94%8C"):
        answer = nobody.get(f"/check/{strange}")
        assert answer.status_code == 404, strange
