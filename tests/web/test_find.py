"""One search box: what each person finds, what opens at once, and what a scanned label opens."""

import pytest

from app.actions import certificates, readings, visits
from app.actions.deeds import Desk
from app.rules.visits import NotTested
from app.store.claims import get_claim
from app.store.credit_notes import get_credit_note
from app.store.quotes import get_quote
from tests.cast import BrowseAs, World
from tests.web.firm_at_work import FirmAtWork
from tests.web.page_text import words_of


@pytest.fixture
def certified(desk: Desk, world: World) -> str:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        for item_id in world.item_ids:
            readings.leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    return "C-000001"


def test_customers_premises_and_items_are_found_together(browse_as: BrowseAs, world: World) -> None:
    words = words_of(browse_as(world.technician).get("/find", params={"q": "brackenhow"}))
    assert "Customers Brackenhow Primary School" in words and "Premises" in words
    part = browse_as(world.technician).get("/find/parts/results", params={"q": "kett"})
    assert f'href="/items/{world.item_ids[0]}"' in part.text and "<html" not in part.text
    assert "Nothing begins with “xyzzy”." in words_of(browse_as(world.office).get("/find", params={"q": "xyzzy"}))


def test_a_number_that_one_thing_has_opens_it(browse_as: BrowseAs, world: World, certified: str) -> None:
    office = browse_as(world.office)
    for typed in (certified, certified.lower(), "c000001"):
        assert office.get("/find", params={"q": typed}).headers["location"].startswith("/certificates/")
    # Every customer has an item 0001: a list, and no guess.
    assert office.get("/find", params={"q": "0001"}).status_code == 200


def test_a_technician_finds_no_papers_with_money(browse_as: BrowseAs, world: World, certified: str) -> None:
    technician = browse_as(world.technician)
    assert technician.get("/find", params={"q": certified}).status_code == 200
    assert "/certificates/" not in technician.get("/find/parts/results", params={"q": certified}).text
    assert "/certificates/" in browse_as(world.office).get("/find/parts/results", params={"q": certified}).text


def test_every_paper_about_money_is_found_by_whoever_sees_money(firm_at_work: FirmAtWork) -> None:
    with firm_at_work.app.state.desk.reading_only() as session:
        note = get_credit_note(session, int(firm_at_work.ids["credit_note_id"]))
        claim = get_claim(session, int(firm_at_work.ids["claim_id"]))
        quote = get_quote(session, int(firm_at_work.ids["quote_id"]))
        found = {
            note.number: f"/credit-notes/{note.id}",
            claim.number: f"/invoices/{claim.invoice_id}",
            quote.number or "": f"/quotes/{quote.id}",
        }
        code, of_note = note.data["check"]["code"], f"/credit-notes/{note.id}"
    assert all(found)
    for number, address in found.items():
        assert firm_at_work.browse("office").get("/find", params={"q": number}).headers["location"] == address
        part = firm_at_work.browse("technician").get("/find/parts/results", params={"q": number})
        assert address not in part.text
    assert of_note in firm_at_work.browse("office").get("/find/parts/results", params={"q": code}).text


def test_pages_are_found_by_name_by_whoever_may_open_them(browse_as: BrowseAs, world: World) -> None:
    wanted = {"rulebook": "/rulebooks", "house limits": "/house-limits", "one-off": "/one-off-check"}
    for typed, href in wanted.items():
        part = browse_as(world.owner).get("/find/parts/results", params={"q": typed}).text
        assert f'href="{href}"' in part
        shown = f'href="{href}"' in browse_as(world.technician).get("/find", params={"q": typed}).text.split("<main")[1]
        assert shown is (href != "/house-limits")


@pytest.mark.parametrize(
    ("scanned", "opens"),
    [
        ("HTTPS://OFFICE.TARN-ALDER.EXAMPLE/L/1/0002", "/L/1/0002"),
        (" /l/1/0002\r", "/L/1/0002"),
        ("https://elsewhere.example/settings", None),
        ("/L/1/../../settings", None),
        ("http://[", None),
    ],
)
def test_a_scanned_label_opens_its_item_and_nothing_else(
    browse_as: BrowseAs, world: World, scanned: str, opens: str | None
) -> None:
    answer = browse_as(world.technician).get("/find", params={"q": scanned})
    assert answer.headers.get("location") == opens
    assert answer.status_code == (303 if opens else 200)
