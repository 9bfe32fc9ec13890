"""Prices of the firm and of one customer: entered with their day, shown with their history, taken back."""

import pytest

from app.actions.deeds import Desk
from app.store.prices import find_price_agreement, list_price_agreements
from tests.cast import BrowseAs, World

GIVEN = {"valid_from": "2026-03-04", "item": "1.20", "call_out": "", "minimum": "45", "kind_charger": "0"}


def test_the_owner_enters_the_firms_list(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    owner = browse_as(world.owner)
    assert owner.post("/prices", GIVEN).headers["location"] == "/prices"
    with desk.reading_only() as session:
        row = find_price_agreement(session, None, desk.today)
        assert row is not None
        assert (row.item_pence, row.call_out_pence, row.minimum_pence) == (120, 0, 4500)
        assert [(price.kind, price.pence) for price in row.kinds] == [("charger", 0)]  # given as 0, not left out
    page = owner.get("/prices").text
    assert page.count(">holds today<") == 1
    assert "charger £0.00" in page
    assert "£1.35" in page  # what held before stays in the history


def test_the_office_agrees_prices_with_a_customer_but_not_for_the_firm(
    browse_as: BrowseAs, world: World, desk: Desk
) -> None:
    office, address = browse_as(world.office), f"/customers/{world.customer_id}/prices"
    assert office.get("/prices").status_code == 403
    assert office.post("/prices", GIVEN).status_code == 403
    assert "the firm's own list holds" in office.get(address).text.replace("&#39;", "'")
    assert office.post(address, GIVEN).headers["location"] == address
    with desk.reading_only() as session:
        [row] = list_price_agreements(session, world.customer_id)
        other = find_price_agreement(session, world.other_customer_id, desk.today)
        assert (row.item_pence, other.item_pence if other else None) == (120, 135)
        agreement_id = row.id
    assert office.post(f"/customers/{world.other_customer_id}/prices/{agreement_id}/remove").status_code == 404
    assert office.post(f"{address}/{agreement_id}/remove").headers["location"] == address
    with desk.reading_only() as session:
        assert list_price_agreements(session, world.customer_id) == []


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("item", ""),
        ("item", "abc"),
        ("item", "-1"),
        ("item", "1.005"),
        ("minimum", "1e9"),
        ("call_out", "100001"),
        ("kind_charger", "free"),
        ("valid_from", ""),
        ("valid_from", "31/2/2026"),
    ],
)
def test_a_mistake_stands_beside_its_field(
    browse_as: BrowseAs, world: World, desk: Desk, name: str, typed: str
) -> None:
    answer = browse_as(world.owner).post("/prices", GIVEN | {name: typed})
    assert answer.status_code == 422
    assert f'id="f-{name}-mistake"' in answer.text
    assert 'value="2026-03-04"' in answer.text or name == "valid_from"
    with desk.reading_only() as session:
        assert len(list_price_agreements(session, None)) == 1


def test_a_technician_sees_no_prices(browse_as: BrowseAs, world: World) -> None:
    technician = browse_as(world.technician)
    assert technician.get("/prices").status_code == 403
    assert technician.get(f"/customers/{world.customer_id}/prices").status_code == 403
