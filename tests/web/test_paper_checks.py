"""The public check of a paper: what is on the paper and its SHA-256, and nothing about the customer or its money."""

from datetime import date
from decimal import Decimal
from hashlib import sha256

import pytest

from app.actions import base_rates, certificates, claims, credit_notes, quotes
from app.actions.credit_notes import CreditRequest
from app.actions.deeds import Desk
from app.actions.share_links import share
from app.rules.base_rates import BaseRateDetails
from app.rules.credit_notes import CreditWish
from app.rules.share_links import FolderKind, LinkScope
from app.store.certificates import get_certificate
from tests.cast import Browse, BrowseAs, Clock, World
from tests.documents.reading_back import codes_on
from tests.finished_visits import begin_worked_through
from tests.issued_invoices import begin_issued
from tests.web.page_text import words_of


@pytest.fixture
def nobody(browse_as: BrowseAs) -> Browse:
    return browse_as(None)


@pytest.fixture
def code(desk: Desk, world: World) -> str:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificate_id = certificates.issue_certificate(desk, world.office, world.visit_id)
    with desk.reading_only() as session:
        return get_certificate(session, certificate_id).code


def test_the_check_shows_the_paper_and_nothing_of_the_customer(desk: Desk, code: str, nobody: Browse) -> None:
    page = nobody.get(f"/check/{code}")
    assert page.status_code == 200
    said = words_of(page)
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


def test_an_invoice_and_what_follows_it_are_checked_without_a_customer_or_a_sum(
    desk: Desk, world: World, clock: Clock, nobody: Browse
) -> None:
    invoice_id = begin_issued(desk, world)
    clock.pass_time(days=40)
    with desk.doing(world.office) as deed:
        rate = BaseRateDetails(date(2025, 12, 18), Decimal("3.75"), "The Bank's page")
        base_rates.enter_base_rate(deed, rate)
    claim_id = claims.claim_late_payment(desk, world.office, invoice_id, interest=True, fixed_sum=True)
    wish = CreditRequest((CreditWish(0, quantity=Decimal(2)),), "Two items were counted twice", desk.today)
    credit_notes.issue_credit_note(desk, world.office, invoice_id, wish)
    said = {name: _said_of(desk, nobody, name) for name in ("INV-000001", "CN-000001", "LP-000001")}
    assert "issued this invoice on 4 Mar 2026" in said["INV-000001"]
    assert "credit note CN-000001 against this invoice on 13 Apr 2026" in said["INV-000001"]
    assert "It is about invoice INV-000001" in said["CN-000001"]
    assert "It is about invoice INV-000001" in said["LP-000001"]
    assert "issued this claim for late payment on 13 Apr 2026" in said["LP-000001"]
    with desk.doing(world.office) as deed:
        claims.withdraw_claim(deed, claim_id, "It was paid in time, by cheque")
    withdrawn = _said_of(desk, nobody, "LP-000001")
    assert "State withdrawn" in withdrawn and "void" not in withdrawn
    assert "no longer holds: the firm withdrew it on 13 Apr 2026" in withdrawn and "cheque" not in withdrawn


def test_the_link_to_one_paper_names_its_code(desk: Desk, world: World, nobody: Browse) -> None:
    invoice_id = begin_issued(desk, world)
    with desk.doing(world.office) as deed:
        scope = LinkScope(world.customer_id, paper=(FolderKind.INVOICE, invoice_id), with_money=True)
        token = share(deed, scope)
    [(address, _)] = codes_on((desk.papers_folder / "INV-000001.pdf").read_bytes())
    assert f'href="{address.removeprefix("https://office.tarn-alder.example")}"' in nobody.get(f"/s/{token}").text


def test_a_quote_says_how_long_its_prices_hold(desk: Desk, world: World, clock: Clock, nobody: Browse) -> None:
    with desk.doing(world.office) as deed:
        quote_id = quotes.draft_quote(deed, world.premises_id).id
    quotes.issue_quote(desk, world.office, quote_id)
    assert "Its prices hold until 3 Apr 2026" in _said_of(desk, nobody, "Q-000001")
    clock.pass_time(days=31)
    assert "Its prices held until 3 Apr 2026" in _said_of(desk, nobody, "Q-000001")


def _said_of(desk: Desk, nobody: Browse, number: str) -> str:
    """What the check says whose address stands on a paper about money, which must name neither customer nor sum."""
    content = (desk.papers_folder / f"{number}.pdf").read_bytes()
    [(address, _)] = codes_on(content)
    page = nobody.get(address.removeprefix("https://office.tarn-alder.example"))
    assert page.status_code == 200
    said = words_of(page)
    for words in (number, sha256(content).hexdigest(), f"{len(content):,} bytes"):
        assert words in said, words
    assert "Compare number and date with" in said and "A certificate shows" not in said
    for secret in ("Brackenhow", "High Street", "£", "120.00"):
        assert secret not in page.text
    return said
