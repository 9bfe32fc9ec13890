"""Papers on the pages: asked for, listed, found, checked by whoever holds one, corrected and made void."""

import re
from dataclasses import replace
from hashlib import sha256

import pytest

from app.actions import items
from app.actions.deeds import Desk
from app.store.items import get_item
from app.store.papers import get_paper
from tests.cast import Browse, BrowseAs, World
from tests.documents.reading_back import codes_on
from tests.finished_visits import GOOD, begin_worked_through, earth


@pytest.fixture
def office(desk: Desk, world: World, browse_as: BrowseAs) -> Browse:
    """The office, after a visit at which the kettle failed."""
    begin_worked_through(desk, world.technician, world.visit_id, ([GOOD[0][0], earth("0.42")], *GOOD[1:]))
    return browse_as(world.office)


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)).replace("\u00a0", " ")


def issued(office: Browse, address: str, **fields: str) -> str:
    """Send the form of an address and give the address of the paper."""
    answer = office.post(address, fields)
    assert answer.status_code == 303, plain(answer.text)
    return answer.headers["location"]


def test_the_office_issues_every_kind_from_its_page(office: Browse, world: World) -> None:
    customer, place, item = f"/customers/{world.customer_id}", f"/premises/{world.premises_id}", "/items/{}"
    for page, leads_to in ((customer, f"{customer}/papers/new"), (place, f"/papers?premises={world.premises_id}")):
        assert leads_to in office.get(page).text
    made = [
        issued(office, f"{customer}/papers", kind="register", as_at="2026-03-04"),
        issued(office, f"{place}/papers", kind="defect list", as_at=""),
        issued(office, f"{item.format(world.item_ids[1])}/papers", kind="item certificate", purpose="sale"),
        issued(office, f"{item.format(world.item_ids[0])}/papers", kind="item history"),
    ]
    words = ("3 items in service", "0.281 Ω over", "Drill: passed", "1 test on record")
    for address, said in zip(made, words, strict=True):
        shown = office.get(address)
        assert shown.status_code == 200 and said in plain(shown.text), plain(shown.text)
        answer = office.get(f"{address}/paper.pdf")
        assert answer.headers["content-type"] == "application/pdf"
        assert sha256(answer.content).hexdigest() in shown.text
    listed = office.get(f"/papers?customer={world.customer_id}").text
    assert all(f'href="{address}"' in listed for address in made)
    assert all(number in plain(office.get(customer).text) for number in ("REG-000001", "DEF-000001", "HIS-000001"))
    only = plain(office.get(f"/papers?item={world.item_ids[1]}&kind=item+certificate").text)
    assert "ITM-000001" in only and "HIS-000001" not in only
    assert "Issue a paper" in plain(office.get(f"/papers?premises={world.other_premises_id}").text)


def test_a_paper_is_found_by_its_number_and_code(office: Browse, desk: Desk, world: World, browse_as: BrowseAs) -> None:
    address = issued(office, f"/customers/{world.customer_id}/papers", kind="register")
    assert office.get("/find?q=REG-000001").headers["location"] == address
    with desk.reading_only() as session:
        code = get_paper(session, int(address.rpartition("/")[2])).code
    assert "REG-000001" in office.get(f"/find?q={code[:9]}").text
    technician = browse_as(world.technician)
    assert address not in technician.get("/find/parts/results?q=REG-000001").text
    for path in ("/papers", address, f"{address}/paper.pdf", f"/customers/{world.customer_id}/papers/new"):
        assert technician.get(path).status_code == 403
    assert "/papers?" not in technician.get(f"/premises/{world.premises_id}").text


def test_the_check_page_knows_every_kind_and_no_customer(
    office: Browse, desk: Desk, world: World, browse_as: BrowseAs
) -> None:
    made = {
        "register": issued(office, f"/customers/{world.customer_id}/papers", kind="register", as_at="2026-03-03"),
        "defect list": issued(office, f"/customers/{world.customer_id}/papers", kind="defect list"),
        "item certificate": issued(office, f"/items/{world.item_ids[1]}/papers", kind="item certificate"),
        "item history": issued(office, f"/items/{world.item_ids[1]}/papers", kind="item history"),
    }
    nobody = browse_as(None)
    for kind, address in made.items():
        content = office.get(f"{address}/paper.pdf").content
        [(url, _)] = codes_on(content)
        page = nobody.get(url.removeprefix("https://office.tarn-alder.example"))
        said = plain(page.text)
        assert page.status_code == 200 and f"issued this {kind} on 4 Mar 2026" in said, said
        assert sha256(content).hexdigest() in said
        for secret in ("Brackenhow", "Kettle", "Drill", "0.42", "Joss"):
            assert secret not in page.text
    said = plain(nobody.get(f"/check/{_code(desk, made['register'])}").text)
    assert "it shows 3 Mar 2026" in said


def _code(desk: Desk, address: str) -> str:
    with desk.reading_only() as session:
        return get_paper(session, int(address.rpartition("/")[2])).code


def test_what_cannot_be_issued_is_said_beside_its_cause(office: Browse, world: World) -> None:
    customer, kettle = f"/customers/{world.customer_id}/papers", f"/items/{world.item_ids[0]}/papers"
    for fields, said in (
        ({"kind": "register", "as_at": "2026-03-05"}, "still to come"),
        ({"kind": "register", "as_at": "soon"}, "Give a date such as"),
        ({"kind": "item history"}, "Choose which paper"),
        ({}, "Choose which paper"),
    ):
        answer = office.post(customer, fields)
        assert answer.status_code == 422 and said in plain(answer.text)
    assert office.post(kettle, {"kind": "item certificate", "purpose": "gift"}).status_code == 422
    answer = office.post(kettle, {"kind": "item certificate", "purpose": "hire"})
    assert answer.status_code == 409 and "is out of use" in plain(answer.text)
    assert office.get("/papers").text.count("REG-") == 0


def test_a_certificate_of_one_item_is_corrected_and_made_void(office: Browse, desk: Desk, world: World) -> None:
    address = issued(office, f"/items/{world.item_ids[1]}/papers", kind="item certificate", purpose="hire")
    assert "Nothing has changed" in office.get(f"{address}/correct").text
    with desk.doing(world.office) as deed:
        row = get_item(deed.session, world.item_ids[1])
        items.change_item(deed, row.id, replace(row.details, serial="SN-77"))
    assert "SN-77" in office.get(f"{address}/correct").text
    assert office.post(f"{address}/correct", {"reason": ""}).status_code == 422
    newer = issued(office, f"{address}/correct", reason="The serial was read wrongly")
    assert "Replaced by ITM-000001-R2" in plain(office.get(address).text)
    assert office.get(f"{address}/correct").headers["location"] == address
    assert office.post(f"{newer}/void", {"reason": " "}).status_code == 422
    assert office.post(f"{newer}/void", {"reason": "Another drill"}).status_code == 303
    assert "Void since" in plain(office.get(newer).text)
    register = issued(office, f"/customers/{world.customer_id}/papers", kind="register")
    assert office.post(f"{register}/correct", {"reason": "x"}).status_code == 409
