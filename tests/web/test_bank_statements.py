"""Bank statements in the browser: looked at, mapped, taken in, ticked and booked."""

import re

import pytest

from app.actions.deeds import Desk
from app.store.bank_lines import list_bank_lines
from app.store.invoices import get_invoice
from tests.cast import Browse, BrowseAs, World
from tests.issued_invoices import issue
from tests.kept_rows import as_kept
from tests.web.page_text import fields_of, words_of

FILE = "Date;What;In;Out\n04/03/2026;BRACKENHOW INV-000001;125,00;\n04/03/2026;RENT;;500,00\n".encode("cp1252")


@pytest.fixture
def office(browse_as: BrowseAs, desk: Desk, world: World) -> Browse:
    as_kept(desk, issue, world)
    return browse_as(world.office)


def upload(office: Browse, content: bytes = FILE) -> str:
    answer = office.send(
        "POST", "/bank-statements", data={"csrf": office.csrf, "name": "March"}, files={"file": ("m.csv", content)}
    )
    assert answer.status_code == 303, words_of(answer)
    return str(answer.headers["location"])


def test_from_the_file_to_the_paid_invoice(office: Browse, desk: Desk) -> None:
    here = upload(office)
    page = office.get(here)
    said = words_of(page)
    for words in ("Nothing is taken in yet", "1 line, £125.00", "4 Mar 2026", "BRACKENHOW INV-000001", "UTF-8"):
        assert words in said, words
    form = fields_of(page)
    assert (form["day"], form["text"], form["paid_in"], form["amount"], form["amount_format"]) == (
        "0", "1", "2", "", "comma"
    )  # fmt: skip
    wrong = office.get(f"{here}?day=0&date_format=month-first&text=1&paid_in=2&amount_format=point")
    assert "is no amount of this format" in wrong.text
    assert office.post(f"{here}/take", form | {"amount_format": "point"}).status_code == 422
    with desk.reading_only() as session:
        assert list_bank_lines(session) == []
    assert office.post(f"{here}/take", form).headers["location"] == "/bank-statements#lines"
    assert "1 line was taken in" in words_of(office.get(here)).replace("\u00a0", " ")
    page = office.get("/bank-statements")
    said = words_of(page)
    for words in ("£125.00 on 4 Mar 2026", "INV-000001, Brackenhow Primary School, £120.00",
                  "the text names INV-000001", "£5.00 more than that will be held"):  # fmt: skip
        assert words in said, words
    assert "checked" not in re.findall(r"<input[^>]*book_1[^>]*>", page.text)[0], "nothing is ticked for anybody"
    nothing = office.post("/bank-lines/book", {"choice_1": "1"})
    assert nothing.status_code == 422 and "Tick the lines" in nothing.text
    assert office.post("/bank-lines/book", {"choice_1": "1", "book_1": "yes"}).status_code == 303
    with desk.reading_only() as session:
        assert get_invoice(session, 1).owed_pence == 0
    assert "No lines to book" in office.get("/bank-statements").text
    again = office.post("/bank-lines/book", {"choice_1": "1", "book_1": "yes"})
    assert again.status_code == 422 and "Choose again" in again.text


def test_the_same_file_again_brings_nothing_new(office: Browse) -> None:
    here = upload(office)
    office.post(f"{here}/take", fields_of(office.get(here)))
    again = upload(office)
    said = words_of(office.get(again))
    assert "known already" in said and "Take in 0 lines" in said.replace("\u00a0", " ")


def test_by_hand_for_a_customer_and_set_aside(office: Browse, world: World) -> None:
    here = upload(office)
    office.post(f"{here}/take", fields_of(office.get(here)))
    page = office.get(f"/customers/{world.customer_id}/payments/new?bank_line=1")
    fields = fields_of(page)
    assert (fields["amount"], fields["share_1"], fields["bank_line"]) == ("125.00", "120.00", "1")
    assert office.post("/bank-lines/1/aside").status_code == 303
    assert "1 line set aside" in words_of(office.get("/bank-statements")).replace("\u00a0", " ")
    assert office.post("/bank-lines/1/aside").status_code == 409
    assert office.post("/bank-lines/1/back").status_code == 303
    answer = office.post(f"/customers/{world.customer_id}/payments", fields)
    assert answer.headers["location"] == "/bank-statements#lines"
    assert office.post(f"/customers/{world.customer_id}/payments", fields | {"share_1": ""}).status_code == 409


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "Choose the file"),
        (b"\x89PNG\x00\x01", "not a file of text"),
        (b"one,two\n1,2\n", "at least three columns"),
    ],
)
def test_what_is_no_statement_is_said_beside_the_field(office: Browse, content: bytes, said: str) -> None:
    answer = office.send(
        "POST", "/bank-statements", data={"csrf": office.csrf, "name": "March"}, files={"file": ("m.csv", content)}
    )
    assert answer.status_code == 422 and said in answer.text
    assert fields_of(answer)["name"] == "March"


def test_a_file_is_discarded(office: Browse) -> None:
    here = upload(office)
    assert office.post(f"{here}/discard").status_code == 303
    assert "nothing was taken in" in office.get(here).text
    assert office.post(f"{here}/discard").status_code == 409
