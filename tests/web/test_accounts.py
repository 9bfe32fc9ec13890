"""Account, statement, ageing, payments, late payment, reminders and the accountant's page, in the browser."""

from decimal import Decimal

import pytest

from app.actions.deeds import Desk
from app.actions.invoices import DraftLine
from app.store.invoices import get_invoice
from app.store.payments import count_held_pence
from tests.cast import Browse, BrowseAs, Clock, World
from tests.documents.reading_back import text_of
from tests.issued_invoices import begin_issued, issue
from tests.web.page_text import fields_of, words_of


@pytest.fixture
def office(browse_as: BrowseAs, desk: Desk, world: World, clock: Clock) -> Browse:
    """One invoice of 120.00, due on 3 April 2026 and 27 days late; one of the other customer, of 60.00."""
    begin_issued(desk, world)
    clock.pass_time(days=57)
    issue(desk, world, [DraftLine("Testing", Decimal(1), Decimal(50))], world.other_visit_id)
    return browse_as(world.office)


def test_a_payment_for_several_and_what_is_held(office: Browse, desk: Desk, world: World) -> None:
    here = f"/customers/{world.customer_id}"
    page = office.get(f"{here}/payments/new")
    assert "INV-000001" in page.text and "INV-000002" not in page.text, "only the customer's own"
    paid = {"paid_on": "2026-04-30", "method": "cheque", "reference": "Cheque 12", "amount": "130"}
    wrong = office.post(f"{here}/payments", paid | {"share_1": "120.01"})
    assert wrong.status_code == 422 and "£120.00 is to be paid on INV-000001." in wrong.text
    assert fields_of(wrong)["reference"] == "Cheque 12"
    answer = office.post(f"{here}/payments", paid | {"share_1": "100"})
    assert answer.headers["location"] == "/payments/1"
    said = words_of(office.get("/payments/1"))
    assert "£100.00" in said and "£30.00 of it is held" in said and "Cheque 12" in said
    account = words_of(office.get(f"{here}/account"))
    for words in ("£20.00 to be paid", "£30.00 held for the customer", "Payment, cheque, Cheque 12"):
        assert words in account, words
    wrong = office.post(f"{here}/credit", {"share_1": "20.01"})
    assert wrong.status_code == 422 and "£20.00 is to be paid" in wrong.text
    assert office.post(f"{here}/credit", {"share_1": "20"}).status_code == 303
    wrong = office.post(f"{here}/refunds", {"paid_on": "2026-04-30", "amount": "11"})
    assert wrong.status_code == 422 and "£10.00 is held" in wrong.text
    assert office.post(f"{here}/refunds", {"paid_on": "2026-04-30", "amount": "10"}).status_code == 303
    with desk.reading_only() as session:
        assert count_held_pence(session, world.customer_id) == 0
        assert get_invoice(session, 1).owed_pence == 0


def test_taken_off_and_removed_with_a_reason(office: Browse, desk: Desk, world: World) -> None:
    office.post(f"/customers/{world.customer_id}/payments", {"paid_on": "2026-04-30", "amount": "50", "how": "oldest"})
    assert office.post("/payments/1/unmatch", {"share": "1"}).status_code == 303
    assert office.post("/payments/1/unmatch", {"share": "1"}).status_code == 409
    wrong = office.post("/payments/1/remove", {"reason": ""})
    assert wrong.status_code == 422 and "Say why it is removed" in wrong.text
    office.post("/payments/1/remove", {"reason": "Typed twice"})
    assert "Typed twice" in office.get("/payments/1").text
    assert "Removed: Typed twice" in words_of(office.get(f"/customers/{world.customer_id}/account"))
    assert office.post("/payments/1/remove", {"reason": "Again"}).status_code == 409


def test_the_statement_as_page_and_paper_says_the_same(office: Browse, world: World) -> None:
    office.post("/invoices/1/payments", {"paid_on": "2026-04-10", "amount": "20", "reference": "BACS"})
    here = f"/customers/{world.customer_id}/statement"
    page = words_of(office.get(f"{here}?start=2026-04-01&end=2026-04-30"))
    paper = text_of(office.get(f"{here}.pdf?start=2026-04-01&end=2026-04-30").content)
    for words in ("£120.00", "BACS", "£20.00", "£100.00", "1 to 30 days"):
        assert words in page and words in paper, words
    assert "Brought forward £120.00" in page
    assert "Balance to pay £100.00" in paper and "Statement of account" in paper
    wrong = office.get(f"{here}?start=2026-05-01&end=2026-04-01")
    assert wrong.status_code == 422 and "lies after the last" in wrong.text
    assert office.get(f"{here}?start=soon").status_code == 422


def test_who_owes_what_by_age(office: Browse, world: World) -> None:
    said = words_of(office.get("/ageing"))
    assert "£180.00 to be paid" in said and "£120.00 of it overdue" in said
    assert "Brackenhow Primary School oldest due 3 Apr 2026" in said
    assert "Together £60.00 £120.00 £0.00" in said
    assert "Nobody owes anything" in office.get("/ageing?day=2026-01-01").text


def test_late_payment_is_shown_with_its_working_and_claimed_on_a_word(office: Browse, desk: Desk) -> None:
    page = office.get("/invoices/1/late-payment")
    assert "not entered yet" in page.text and "31 Dec 2025" in words_of(page)
    rate = {"valid_from": "2025-12-18", "percent": "3.75", "source": "The Bank's page"}
    assert office.post("/base-rates", rate | {"source": ""}).status_code == 422
    assert office.post("/base-rates", rate).status_code == 303
    page = office.get("/invoices/1/late-payment")
    said = words_of(page)
    # 120.00 at 11.75 % for 27 days: 1.0430...
    for words in ("£120.00 × 11.75 % × 27 ÷ 365", "Interest £1.04", "Fixed sum £40.00", "Total claimed £41.04",
                  "The Bank's page", "ask a solicitor"):  # fmt: skip
        assert words in said, words
    with desk.reading_only() as session:
        assert get_invoice(session, 1).claims == [], "looking claims nothing"
    fields = fields_of(page)
    neither = office.post("/invoices/1/late-payment", {"seen": fields["seen"]})
    assert neither.status_code == 422 and "Choose what to claim" in neither.text
    assert office.post("/invoices/1/late-payment", {**fields, "seen": "1.00"}).status_code == 409
    assert office.post("/invoices/1/late-payment", {"seen": fields["seen"], "fixed_sum": "yes"}).status_code == 303
    assert "Late payment claim LP-000001 £40.00 £160.00" in words_of(office.get("/invoices/1"))
    assert "£40.00" in text_of(office.get("/claims/1/paper.pdf").content)
    assert office.post("/claims/1/withdraw", {"reason": ""}).status_code == 422
    assert office.post("/claims/1/withdraw", {"reason": "Agreed"}).status_code == 303
    assert "Claim withdrawn LP-000001 Agreed −£40.00 £120.00" in words_of(office.get("/invoices/1"))


def test_nothing_of_the_sort_for_a_private_person(office: Browse, world: World) -> None:
    edit = office.get(f"/customers/{world.customer_id}/edit")
    answer = office.post(f"/customers/{world.customer_id}", fields_of(edit) | {"kind": "consumer"})
    assert answer.status_code == 303
    said = words_of(office.get("/invoices/1/late-payment"))
    assert "From a private person nothing can be claimed" in said and "Total claimed" not in said


def test_reminders_in_three_tones_from_the_firms_own_texts(office: Browse, world: World) -> None:
    here = f"/customers/{world.customer_id}"
    said = words_of(office.get(f"{here}/reminder"))
    for words in ("INV-000001, due on 3 April 2026: £120.00", "Bea Holm", "00-00-00"):
        assert words in said, words
    assert "27 days ago" in words_of(office.get(f"{here}/reminder?tone=firm"))
    texts = fields_of(office.get("/reminder-texts"))
    wrong = office.post("/reminder-texts", texts | {"final_body": "Pay {now}"})
    assert wrong.status_code == 422 and "There is no placeholder {now}." in wrong.text
    hostile = "Pay {total} <b>now</b> {{ 7 * 7 }}, {customer}"
    assert office.post("/reminder-texts", texts | {"friendly_body": hostile}).status_code == 422
    hostile = "Pay {total} <b>now</b>, {customer}"
    assert office.post("/reminder-texts", texts | {"friendly_body": hostile}).status_code == 303
    page = office.get(f"{here}/reminder?tone=friendly")
    assert "Pay £120.00 &lt;b&gt;now&lt;/b&gt;, Brackenhow Primary School" in page.text
    assert "Pay £120.00 <b>now</b>" in text_of(office.get(f"{here}/reminder.pdf?tone=friendly").content)
    office.post(f"{here}/reminders", {"tone": "friendly"})
    assert "Friendly, 30 Apr 2026" in words_of(office.get(f"{here}/account"))
    assert office.get(f"{here}/reminder").text.count('aria-current="page"') >= 1
    assert "Yours sincerely" in office.get(f"{here}/reminder").text, "the next one is firmer"
    assert office.get(f"/customers/{world.other_customer_id}/reminder").status_code == 409


def test_the_accountants_page_and_file(office: Browse) -> None:
    said = words_of(office.get("/vat-summary?start=2026-03-01&end=2026-04-30"))
    for words in ("Standard or reduced rate 20 % 2 £150.00 £30.00", "ask your accountant", "output VAT only",
                  "INV-000001 Brackenhow Primary School 4 Mar 2026 20 % £100.00 £20.00"):  # fmt: skip
        assert words in said, words
    answer = office.get("/vat-summary.csv?start=2026-03-01&end=2026-04-30")
    assert answer.headers["content-disposition"] == 'attachment; filename="Sales 2026-03-01 to 2026-04-30.csv"'
    assert answer.text.count("INV-0000") == 2
    assert office.get("/vat-summary?start=2026-05-01&end=2026-04-30").status_code == 422
    assert "No papers in this time" in office.get("/vat-summary?start=2020-01-01&end=2020-02-01").text
