"""Customers: found by what people remember of them, taken on, changed; a technician sees no money."""

from app.actions import customers
from app.actions.deeds import Desk
from app.rules.customers import ContactDetails
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of


def test_the_list_counts_premises_and_items(browse_as: BrowseAs, world: World) -> None:
    words = words_of(browse_as(world.technician).get("/customers"))
    assert "Brackenhow Primary School 1 High Street, Millbeck, ZZ1 1AA" in words
    assert "Saltgate Brewery" in words


def test_a_customer_is_found_by_name_contact_and_premises(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    with desk.doing(world.office) as deed:
        customers.add_contact(deed, world.customer_id, ContactDetails("Ada Lomas", phone="01632 960555"))
    browse = browse_as(world.office)
    for search in ("brackenhow", "lomas", "960555", "school main", "BRACKENHOW  ada"):
        words = words_of(browse.get("/customers", params={"q": search}))
        assert "Brackenhow Primary School" in words, search
        assert "Saltgate" not in words, search


def test_a_search_that_finds_nobody_says_what_to_do(browse_as: BrowseAs, world: World) -> None:
    words = words_of(browse_as(world.office).get("/customers", params={"q": "100% <b>nobody</b>"}))
    assert "Nobody found" in words
    assert "“100% <b>nobody</b>”" in words


def test_a_customer_is_taken_on(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    answer = browse.post("/customers", {"name": "  Fellside   Joinery ", "postcode": "zz2 8jn", "email": "a@b.example"})
    assert answer.status_code == 303
    words = words_of(browse.get(answer.headers["location"]))
    assert "Fellside Joinery" in words
    assert "ZZ2 8JN" in words
    assert "Added the customer Fellside Joinery." in words


def test_mistakes_stand_beside_their_fields_and_what_was_typed_stays(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    answer = browse.post("/customers", {"name": " ", "email": "no address", "notes": "Ring first\nthen come"})
    assert answer.status_code == 422
    assert "Give the customer's name." in words_of(answer)
    assert fields_of(answer)["notes"] == "Ring first\nthen come"
    answer = browse.post("/customers", {"name": "Fellside Joinery", "email": "no address"})
    assert answer.status_code == 422
    assert "This is not an e-mail address." in words_of(answer)
    assert "Fellside" not in words_of(browse.get("/customers"))


def test_a_change_keeps_what_another_saved_meanwhile(browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/customers/{world.customer_id}"
    first = fields_of(browse.get(f"{address}/edit"))
    second = dict(first)
    assert browse.post(address, first | {"phone": "01632 960001"}).status_code == 303
    answer = browse.post(address, second | {"phone": "01632 960002"})
    assert answer.status_code == 409
    assert "Somebody else has changed this customer" in words_of(answer)
    assert fields_of(browse.get(f"{address}/edit"))["phone"] == "01632 960001"


def test_only_the_office_sees_money_and_papers(browse_as: BrowseAs, world: World) -> None:
    address = f"/customers/{world.customer_id}"
    office = browse_as(world.office).get(address)
    assert "£1.35" in office.text
    assert f"{address}/prices" in office.text
    technician = browse_as(world.technician).get(address)
    assert technician.status_code == 200
    for hidden in ("£", "prices", "invoice", "certificate", "/edit", "/new"):
        assert hidden not in technician.text.casefold().split("<main", 1)[1], hidden


def test_contacts_come_change_and_go(browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/customers/{world.customer_id}"
    assert browse.post(f"{address}/contacts", {"name": ""}).status_code == 422
    assert browse.post(f"{address}/contacts", {"name": "Ada Lomas", "role": "caretaker"}).status_code == 303
    page = browse.get(address).text
    edit = page.split('href="/contacts/')[1].split("/edit")[0]
    assert fields_of(browse.get(f"/contacts/{edit}/edit"))["role"] == "caretaker"
    changed = browse.post(f"/contacts/{edit}", {"name": "Ada Lomas", "phone": "01632 960777"})
    assert changed.headers["location"] == address
    assert 'href="tel:01632960777"' in browse_as(world.technician).get(address).text
    assert browse.post(f"/contacts/{edit}/remove").status_code == 303
    assert "tel:01632960777" not in browse.get(address).text


def test_what_is_not_there_is_a_404(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.owner)
    for address in ("/customers/999999", "/customers/x", "/contacts/999999/edit", "/customers/999999/edit"):
        assert browse.get(address).status_code == 404, address
    assert browse.post("/customers/999999", {"name": "x"}).status_code == 404
