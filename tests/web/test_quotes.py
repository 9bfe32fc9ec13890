"""Quotes in the browser: made from the register or an estimate, issued, answered, booked; nobody on site sees them."""

import pytest

from app.actions.deeds import Desk
from app.store.quotes import find_quote_of_visit, get_quote
from tests.cast import Browse, BrowseAs, World
from tests.documents.reading_back import text_of
from tests.web.test_invoices import words_of


@pytest.fixture
def office(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.office)


def drafted(office: Browse, world: World, **fields: str) -> str:
    sent = {"premises_id": str(world.premises_id), "source": "register", "valid_days": "30"} | fields
    address: str = office.post("/quotes", sent).headers["location"]
    return address


def test_from_the_register_to_the_booked_visit(office: Browse, desk: Desk, world: World) -> None:
    assert "The register: 3 items" in words_of(office.get(f"/quotes/new?premises={world.premises_id}").text)
    address = drafted(office, world, note="Parking in the yard")
    said = words_of(office.get(address).text)
    for words in (
        "Draft quote",
        "3 items £1.35 £4.05",
        "Total with VAT £72.00",
        "not a VAT invoice",
        "Parking in the yard",
    ):
        assert words in said
    assert office.post(f"{address}/issue", {"version": "1"}).headers["location"] == address
    paper = office.get(f"{address}/paper.pdf")
    assert "Q-000001" in text_of(paper.content)
    answer = {"answer": "accepted", "answered_on": "2026-03-04", "answered_by": "Ada Lomas"}
    assert office.post(f"{address}/answer", answer).status_code == 303
    page = office.get(address).text
    assert "by Ada Lomas" in words_of(page)
    assert f"/visits/new?premises={world.premises_id}&amp;quote=1" in page
    form = office.get(f"/visits/new?premises={world.premises_id}&quote=1").text
    assert 'name="quote_id" value="1"' in form
    booking = {
        "premises_id": str(world.premises_id),
        "quote_id": "1",
        "booked_on": "2026-03-06",
        "technician_id": str(world.technician.id),
        "instrument_id": str(world.instrument_id),
    }
    visit_id = int(office.post("/visits", booking).headers["location"].rsplit("/", 1)[1])
    with desk.reading_only() as session:
        quote = find_quote_of_visit(session, visit_id)
        assert quote is not None and quote.id == 1
    assert office.post("/visits", booking).status_code == 409  # one quote, one visit
    assert "booked" in words_of(office.get("/quotes?q=brackenhow").text)


def test_an_estimate_is_changed_until_it_is_issued(office: Browse, desk: Desk, world: World) -> None:
    address = drafted(office, world, source="guess", count_any="42", **{"count_detachable-cord": "10"})
    assert 'value="42"' in office.get(f"{address}/edit").text
    fields = {"source": "guess", "count_any": "100", "valid_days": "14", "version": "1"}
    assert office.post(address, fields).status_code == 303
    with desk.reading_only() as session:
        row = get_quote(session, 1)
        assert (row.counts, row.valid_days) == ({"any": 100}, 14)
    office.post(f"{address}/issue", {"version": "2"})
    assert office.get(f"{address}/edit").status_code == 409
    assert office.post(address, fields).status_code == 409
    assert office.post(f"{address}/discard").status_code == 409


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"source": "guess"}, "count_any"),
        ({"source": "guess", "count_any": "many"}, "count_any"),
        ({"source": "guess", "count_any": "20001"}, "count_any"),
        ({"valid_days": "0"}, "valid_days"),
        ({"valid_days": ""}, "valid_days"),
    ],
)
def test_a_mistake_stands_beside_its_field(
    office: Browse, desk: Desk, world: World, fields: dict[str, str], field: str
) -> None:
    sent = {"premises_id": str(world.premises_id), "source": "register", "valid_days": "30", "note": "kept"} | fields
    answer = office.post("/quotes", sent)
    assert answer.status_code == 422
    assert f'id="f-{field}-mistake"' in answer.text
    assert "kept" in answer.text


def test_an_answer_needs_a_name(office: Browse, world: World) -> None:
    address = drafted(office, world)
    office.post(f"{address}/issue", {"version": "1"})
    answer = office.post(f"{address}/answer", {"answer": "declined", "answered_on": "2026-03-04", "answered_by": " "})
    assert answer.status_code == 422
    assert 'id="f-answered_by-mistake"' in answer.text


def test_a_draft_is_discarded_and_premises_are_found(office: Browse, world: World) -> None:
    address = drafted(office, world)
    assert office.post(f"{address}/discard", {"version": "1"}).headers["location"] == f"/premises/{world.premises_id}"
    assert office.get(address).status_code == 404
    assert "Saltgate" in office.get("/quotes/new?q=saltgate").text
    assert "Brackenhow" not in words_of(office.get("/quotes/new?q=saltgate").text)
    assert "No quotes yet" in office.get("/quotes").text


def test_a_technician_sees_no_quote(browse_as: BrowseAs, office: Browse, world: World) -> None:
    address = drafted(office, world)
    technician = browse_as(world.technician)
    for path in ("/quotes", "/quotes/new", address, f"{address}/paper.pdf"):
        assert technician.get(path).status_code == 403
    assert "/quotes" not in technician.get(f"/premises/{world.premises_id}").text
