"""Crediting in the browser: chosen line by line, looked over, then issued; nothing before the second press."""

import re

import httpx
import pytest

from app.actions.deeds import Desk
from app.store.credit_notes import count_credit_notes
from tests.cast import Browse, BrowseAs, Clock, World
from tests.documents.reading_back import text_of
from tests.issued_invoices import issue
from tests.kept_rows import as_kept
from tests.web.page_text import fields_of, words_of

HERE = "/invoices/1/credit-notes"


@pytest.fixture
def office(browse_as: BrowseAs, desk: Desk, world: World) -> Browse:
    as_kept(desk, issue, world)
    return browse_as(world.office)


def notes(desk: Desk) -> int:
    with desk.reading_only() as session:
        return count_credit_notes(session)


def look(office: Browse, **fields: str) -> httpx.Response:
    told = {"reason": "Counted twice", "agreed_on": "2026-03-04", "then": "look"}
    return office.post(HERE, told | fields)


def test_from_the_invoice_to_the_paper(office: Browse, desk: Desk) -> None:
    assert f'href="{HERE}/new"' in office.get("/invoices/1").text
    form = words_of(office.get(f"{HERE}/new"))
    for words in ("Left to credit £120.00", "40 items at £2.00", "of 40", "£80.00", "£20.00"):
        assert words in form, words
    seen = look(office, quantity_0="12", amount_1="5")
    assert seen.status_code == 200
    said = words_of(seen)
    for words in ("Nothing is issued yet", "12 items £2.00 20% £24.00", "Call-out 1 £5.00 20% £5.00", "£34.80",
                  "After this credit £85.20 is to be paid"):  # fmt: skip
        assert words in said, words
    assert notes(desk) == 0
    fields = fields_of(seen)
    assert (fields["quantity_0"], fields["seen"]) == ("12", "34.80")
    answer = office.post(HERE, fields | {"then": "issue"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/credit-notes/1")
    assert "CN-000001" in text_of(office.get("/credit-notes/1/paper.pdf").content)
    assert "Corrects INV-000001" in words_of(office.get("/credit-notes/1"))
    story = words_of(office.get("/invoices/1"))
    assert "Credit note CN-000001 Counted twice −£34.80 £85.20" in story
    assert "CN-000001" in office.get("/credit-notes").text
    assert "No credit note found" in office.get("/credit-notes?q=nothing").text
    assert "£85.20" in words_of(office.get("/customers/1"))


def test_all_that_is_left_in_one_press_and_back_to_change_it(office: Browse, desk: Desk) -> None:
    seen = look(office, everything="yes")
    assert "£120.00" in words_of(seen)
    again = office.post(HERE, fields_of(seen) | {"then": "change"})
    assert again.status_code == 200 and 'value="Counted twice"' in again.text
    office.post(HERE, fields_of(seen) | {"then": "issue"})
    assert "credited" in words_of(office.get("/invoices/1"))
    assert f'href="{HERE}/new"' not in office.get("/invoices/1").text
    assert "INV-000001" in office.get("/invoices?state=credited").text
    assert "No invoice found" in office.get("/invoices?state=paid").text


def test_issuing_without_having_looked_only_shows_it(office: Browse, desk: Desk) -> None:
    assert look(office, everything="yes", then="issue").status_code == 200
    assert notes(desk) == 0


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "Choose what to credit"),
        ({"quantity_0": "41"}, "40 are left to credit"),
        ({"amount_1": "20.01"}, "£20.00 is left to credit"),
        ({"quantity_0": "1", "amount_0": "1"}, "not both"),
        ({"quantity_0": "x"}, "Type a number"),
        ({"all_0": "yes", "reason": ""}, "Say why it is credited"),
        ({"all_0": "yes", "agreed_on": ""}, "Say on which day"),
        ({"all_0": "yes", "agreed_on": "2026-03-05"}, "has not come yet"),
    ],
)
def test_a_mistake_keeps_what_was_typed(office: Browse, desk: Desk, fields: dict[str, str], said: str) -> None:
    answer = look(office, **fields)
    assert answer.status_code == 422
    assert said in answer.text
    kept = fields_of(answer)
    assert all(kept.get(name, "") == value for name, value in fields.items())
    assert notes(desk) == 0


def test_a_late_one_is_warned_of(office: Browse, desk: Desk, clock: Clock, browse_as: BrowseAs, world: World) -> None:
    clock.pass_time(days=15)
    seen = look(browse_as(world.office), everything="yes")
    assert "Later than 14 days" in seen.text and "ask your accountant" in seen.text


def test_a_draft_has_no_way_there(browse_as: BrowseAs, desk: Desk, world: World) -> None:
    from tests.finished_visits import work_through

    work_through(desk, world.technician, world.visit_id)
    office = browse_as(world.office)
    office.post(f"/visits/{world.visit_id}/invoice")
    assert "credit-notes/new" not in office.get("/invoices/1").text
    assert office.get(f"{HERE}/new").status_code == 409
    assert look(office, everything="yes").status_code == 409


def test_the_list_says_what_to_do_when_empty(office: Browse) -> None:
    assert re.search("No credit notes yet.*press “Credit”", words_of(office.get("/credit-notes")))
