"""What an invoice rests on: several visits chosen for one draft, the work behind each line, the structured files."""

from datetime import date
from decimal import Decimal

import pytest

from app.actions import visits
from app.actions.credit_notes import CreditRequest, issue_credit_note
from app.actions.deeds import Desk
from app.rules.credit_notes import CreditWish
from app.rules.visits import Booking
from app.store.invoices import get_invoice
from tests.cast import Browse, BrowseAs, World
from tests.documents.official_rules import judge_all
from tests.finished_visits import work_through
from tests.web.test_invoices import fields_of, words_of


@pytest.fixture
def two(desk: Desk, world: World) -> list[int]:
    work_through(desk, world.technician, world.visit_id, left_out=2)
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
        second = visits.book_visit(deed, booking).id
    work_through(desk, world.technician, second)
    return [world.visit_id, second]


@pytest.fixture
def office(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.office)


def test_visits_are_chosen_and_each_line_leads_to_its_work(
    office: Browse, desk: Desk, world: World, two: list[int]
) -> None:
    here = f"/customers/{world.customer_id}"
    assert "Invoice 2 finished visits" in words_of(office.get(here).text)
    page = office.get(f"{here}/invoices/new").text
    assert all(f'name="visit_{visit_id}"' in page for visit_id in two)
    assert office.post(f"{here}/invoices", {"nothing": "x"}).status_code == 422
    answer = office.post(f"{here}/invoices", {f"visit_{visit_id}": "yes" for visit_id in two})
    assert answer.headers["location"] == "/invoices/1"
    assert "2 visits" in words_of(office.get("/invoices/1").text)
    said = office.get("/invoices/1/work").text
    for visit_id in two:
        assert f'href="/visits/{visit_id}"' in said
        assert f'href="/visits/{visit_id}/items/{world.item_ids[0]}"' in said
    assert "Once a visit, as agreed" in words_of(said)
    assert "Not charged 1" in words_of(said)
    assert "not found" in words_of(said)
    assert "Nothing to invoice" in office.get(f"{here}/invoices/new").text


def test_treatments_and_discounts_are_typed_and_totalled(
    office: Browse, desk: Desk, world: World, two: list[int]
) -> None:
    office.post(f"/visits/{two[0]}/invoice")
    fields = {
        "version": "1",
        "text_0": "Testing", "quantity_0": "1", "price_0": "100", "treatment_0": "standard", "discount_0": "10%",
        "text_1": "Leaflets", "quantity_1": "2", "price_1": "5", "treatment_1": "zero",
        "discount": "5%", "discount_reason": "Thanks",
    }  # fmt: skip
    totals = words_of(office.get("/invoices/1/parts/totals", params=fields).text)
    for words in (
        "Discount on the whole −£5.00",
        "Total without VAT £95.00",
        "VAT 20% £17.10",
        "Total with VAT £112.10",
    ):
        assert words in totals
    assert office.post("/invoices/1", fields).status_code == 303
    with desk.reading_only() as session:
        row = get_invoice(session, 1)
        assert (row.net_pence, row.vat_pence, row.discount) == (9500, 1710, "5%")
    for name, typed in (("discount_0", "lots"), ("discount", "-1"), ("treatment_0", "reverse-charge")):
        answer = office.post("/invoices/1", fields | {"version": "2", name: typed})
        assert answer.status_code == 422, name
        assert f'id="f-{name}-mistake"' in answer.text or name == "treatment_0"
    assert "reverse charge" not in office.get("/invoices/1/edit").text  # off until the owner turns it on


def test_the_files_pass_the_official_rules_wherever_they_are_taken(
    office: Browse, desk: Desk, world: World, two: list[int], browse_as: BrowseAs
) -> None:
    office.post(f"/customers/{world.customer_id}/invoices", {f"visit_{visit_id}": "yes" for visit_id in two})
    assert office.get("/invoices/1/ubl.xml").status_code == 409  # a draft is no invoice
    fields = {"discount": "10%", "version": "1"}
    edit = office.get("/invoices/1/edit").text
    assert office.post("/invoices/1", fields_of(edit) | fields).status_code == 303
    answer = office.post("/invoices/1/issue", {"version": "2"})
    assert answer.status_code == 303, words_of(answer.text)
    wish = CreditWish(0, quantity=Decimal(1))
    issue_credit_note(desk, world.office, 1, CreditRequest((wish,), "Counted twice", date(2026, 3, 4)))
    documents = []
    for address, syntax in (
        ("/invoices/1/ubl.xml", "ubl"),
        ("/invoices/1/cii.xml", "cii"),
        ("/credit-notes/1/ubl.xml", "ubl-credit"),
        ("/credit-notes/1/cii.xml", "cii"),
    ):
        answer = office.get(address)
        assert answer.headers["content-type"] == "application/xml"
        assert "attachment" in answer.headers["content-disposition"]
        documents.append((syntax, answer.content))
        assert browse_as(world.technician).get(address).status_code == 403
    assert judge_all(documents) == [{"schema": [], "rules": []}] * 4
    with desk.reading_only() as session:
        row = get_invoice(session, 1)
        assert f">{row.gross_pence / 100:.2f}<".encode() in documents[0][1]
