"""The pages of labels: describing, choosing, printing, numbers ahead, and the address that a label's code holds."""

from dataclasses import replace
from decimal import Decimal
from urllib.parse import quote

import pytest

from app.actions import items, labels, visits
from app.actions.deeds import Desk
from app.rules.items import ItemDetails
from app.rules.label_sheets import Feed, LabelSheetDetails
from app.store.label_sheets import list_label_sheets
from tests.actions.test_labels import work
from tests.cast import DRILL, BrowseAs, World
from tests.documents.label_reading import codes_of
from tests.web.page_text import words_of

FIELDS = {
    "name": "24 on A4", "feed": "sheet", "width_mm": "63,5", "height_mm": "33.9", "columns": "3", "rows": "8",
    "left_mm": "7.2", "top_mm": "12.9", "gap_across_mm": "2.6", "gap_down_mm": "", "inset_mm": "1.5",
    "shift_right_mm": "-0.4", "shift_down_mm": "", "dots": "600", "codes": "qr", "shows_firm": "yes",
}  # fmt: skip


@pytest.fixture
def sheet_id(desk: Desk, world: World) -> int:
    sheet = LabelSheetDetails("Roll", Feed.ROLL, Decimal(50), Decimal(25))
    with desk.doing(world.office) as deed:
        return labels.add_label_sheet(deed, sheet, desk.public_address).id


def test_labels_are_described_and_changed(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    office = browse_as(world.office)
    assert "No labels described yet" in office.get("/label-sheets").text
    assert office.post("/label-sheets", FIELDS).status_code == 303
    with desk.reading_only() as session:
        kept = list_label_sheets(session)[0]
        details, sheet_id = kept.details, kept.id
    assert details == LabelSheetDetails(
        "24 on A4", Feed.SHEET, Decimal("63.5"), Decimal("33.9"), 3, 8, Decimal("7.2"), Decimal("12.9"), Decimal("2.6"),
        shift_right_mm=Decimal("-0.4"), shows_description=False,
    )  # fmt: skip
    form = office.get(f"/label-sheets/{sheet_id}/edit").text
    assert 'value="-0.4"' in form and 'value="63.5"' in form
    changed = FIELDS | {"name": "Spare", "version": "1"}
    assert office.post(f"/label-sheets/{sheet_id}", changed).status_code == 303
    assert office.post(f"/label-sheets/{sheet_id}", changed).status_code == 409
    assert "Spare" in office.get("/label-sheets").text
    assert office.post(f"/label-sheets/{sheet_id}/remove").status_code == 303
    assert "No labels described yet" in office.get("/label-sheets").text


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": ""}, "Give it a name"),
        ({"width_mm": ""}, "Measure one label"),
        ({"width_mm": "abc"}, "Type a number such as 1.5"),
        ({"columns": ""}, "Count the labels across"),
        ({"columns": "4"}, "and A4 is 210 mm wide"),
        ({"shift_down_mm": "-99"}, "Give a length from -10 to 10 mm"),
        ({"feed": "roll", "height_mm": "9"}, "QR code with your address needs a label at least"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    world: World, browse_as: BrowseAs, change: dict[str, str], says: str
) -> None:
    office = browse_as(world.office)
    answer = office.post("/label-sheets", FIELDS | change)
    assert answer.status_code == 422
    assert says in words_of(answer)
    assert change.get("name", "24 on A4") in answer.text
    assert "No labels described yet" in office.get("/label-sheets").text


def test_from_the_premises_every_item_is_ticked_and_printed(world: World, browse_as: BrowseAs, sheet_id: int) -> None:
    joss = browse_as(world.technician)
    here = f"/premises/{world.premises_id}"
    chosen = joss.get(f"{here}/labels").text
    assert chosen.count('name="item"') == 3 and chosen.count(" checked") == 3
    ticked = "&".join(f"item={item_id}" for item_id in [*world.item_ids, *world.other_item_ids])
    answer = joss.get(f"{here}/labels.pdf?sheet={sheet_id}&{ticked}")
    assert answer.headers["content-type"] == "application/pdf"
    read = [code.text.removeprefix("HTTPS://OFFICE.TARN-ALDER.EXAMPLE") for code in codes_of(answer.content)]
    assert read == [f"/L/{world.customer_id}/{number}" for number in ("0001", "0002", "0003")]


def test_one_item_alone_can_be_chosen(world: World, browse_as: BrowseAs, sheet_id: int) -> None:
    page = browse_as(world.office).get(f"/premises/{world.premises_id}/labels?only={world.item_ids[1]}").text
    assert page.count('name="item"') == 1 and "0002" in page


def test_a_visit_offers_what_was_tested(desk: Desk, world: World, browse_as: BrowseAs, sheet_id: int) -> None:
    joss = browse_as(world.technician)
    here = f"/visits/{world.visit_id}"
    assert "Nothing tested yet" in joss.get(f"{here}/labels").text
    work(desk, world)
    page = joss.get(f"{here}/labels").text
    assert page.count('name="item"') == 2 and "do not use" in page
    assert joss.get(f"{here}/labels?which=failed").text.count('name="item"') == 1
    assert f"{here}/labels" in joss.get(f"{here}/sheet").text
    saved = joss.get(f"{here}/sheet?after={world.item_ids[0]}").text
    assert f"{here}/labels?only={world.item_ids[0]}" in saved
    pdf = joss.get(f"{here}/labels.pdf?sheet={sheet_id}&item={world.item_ids[1]}")
    assert [code.text[-5:] for code in codes_of(pdf.content)] == ["/0002"]


@pytest.mark.parametrize(
    ("query", "says"),
    [("", "Choose the labels"), ("sheet=1", "No item was chosen"), ("sheet=1&item=1&start=2", "labels 1 to 1")],
)
def test_a_request_that_cannot_be_printed_says_why(
    world: World, browse_as: BrowseAs, sheet_id: int, query: str, says: str
) -> None:
    answer = browse_as(world.office).get(f"/premises/{world.premises_id}/labels.pdf?{query}")
    assert answer.status_code == 409
    assert says in words_of(answer)


def test_without_a_description_the_page_says_what_to_do(world: World, browse_as: BrowseAs) -> None:
    page = f"/premises/{world.premises_id}/labels"
    assert "/label-sheets/new" in browse_as(world.office).get(page).text
    technician = browse_as(world.technician).get(page).text
    assert "The office says once" in technician and "/label-sheets" not in technician


def test_numbers_are_taken_printed_and_found_on_site(world: World, browse_as: BrowseAs, sheet_id: int) -> None:
    joss = browse_as(world.technician)
    here = f"/customers/{world.customer_id}"
    wrong = joss.post(f"{here}/number-runs", {"count": "5000"})
    assert wrong.status_code == 422 and "Give a whole number from 1 to 1,000" in words_of(wrong)
    taken = joss.post(f"{here}/number-runs", {"count": "12"}).headers["location"]
    page = joss.get(taken).text
    assert "0004 to 0015" in page
    pdf = joss.get(f"/number-runs/1/labels.pdf?sheet={sheet_id}")
    addresses = [code.text for code in codes_of(pdf.content)]
    assert len(addresses) == 12
    joss.post(f"/visits/{world.visit_id}/start")
    found = joss.get(f"/visits/{world.visit_id}/find", params={"number": addresses[3]})
    assert "Add item 0007" in found.text
    form = joss.get(f"/visits/{world.visit_id}/items/new?number=0007&type={world.equipment_type_id}").text
    assert 'value="0007"' in form
    # By hand the next one is offered after the run.
    assert 'value="0016"' in joss.get(f"/visits/{world.visit_id}/items/new?type={world.equipment_type_id}").text


def typed_ways(world: World, number: str) -> list[str]:
    """What scanners make of a label, by the keyboard and the case that they are set to."""
    address = f"https://office.tarn-alder.example/L/{world.customer_id}/{number}"
    return [address, address.upper(), address.lower(), f" {address}\t", number, number.lstrip("0")]


def test_the_find_box_takes_what_a_scanner_types(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    joss = browse_as(world.technician)
    for typed in typed_ways(world, "0002"):
        answer = joss.get(f"/visits/{world.visit_id}/find", params={"number": typed})
        assert answer.headers.get("location") == f"/visits/{world.visit_id}/items/{world.item_ids[1]}", typed


def test_a_number_with_a_slash_is_found_by_its_label(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    with desk.doing(world.technician) as deed:
        item = items.add_item(deed, ItemDetails("A/7", "Drill", world.location_id, facts=DRILL))
        visits.start_visit(deed, world.visit_id)
    joss = browse_as(world.technician)
    label = f"https://office.tarn-alder.example/L/{world.customer_id}/A:7"
    found = joss.get(f"/visits/{world.visit_id}/find", params={"number": label})
    assert found.headers["location"] == f"/visits/{world.visit_id}/items/{item.id}"
    assert joss.get(f"/L/{world.customer_id}/A:7").headers["location"] == found.headers["location"]


def test_another_customers_label_is_not_taken_for_an_item_here(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    """Both customers have an item 0001."""
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    label = f"HTTPS://OFFICE.TARN-ALDER.EXAMPLE/L/{world.other_customer_id}/0001"
    answer = browse_as(world.technician).get(f"/visits/{world.visit_id}/find", params={"number": label})
    assert answer.status_code == 200
    assert "was printed for another customer" in answer.text


def test_the_address_leads_to_the_sheet_while_a_visit_is_under_way_else_to_the_register(
    desk: Desk, world: World, browse_as: BrowseAs
) -> None:
    joss, bea, label = browse_as(world.technician), browse_as(world.office), f"/L/{world.customer_id}/0001"
    assert joss.get(label).headers["location"] == f"/items/{world.item_ids[0]}"
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    sheet = f"/visits/{world.visit_id}/items/{world.item_ids[0]}"
    assert joss.get(label).headers["location"] == bea.get(label).headers["location"] == sheet
    unknown = joss.get(f"/L/{world.customer_id}/0099").headers["location"]
    assert unknown == f"/visits/{world.visit_id}/find?number=0099"


def test_an_unknown_number_is_offered_as_a_new_item(world: World, browse_as: BrowseAs) -> None:
    page = browse_as(world.office).get(f"/L/{world.customer_id}/0099")
    add = f"/premises/{world.premises_id}/items/new?number=0099"
    assert page.status_code == 200 and add in page.text
    assert 'value="0099"' in browse_as(world.office).get(add).text


def test_to_a_stranger_every_label_says_the_same(world: World, browse_as: BrowseAs) -> None:
    """Whether a number, a customer or an item is there, cannot be told from the answer."""
    stranger = browse_as(None)
    paths = [f"/L/{world.customer_id}/{number}" for number in ("0001", "0002", "9999", "A:7")]
    paths += ["/L/999999/0001", "/L/999999999/1"]
    pages = [stranger.get(path) for path in paths]
    assert {page.status_code for page in pages} == {200}
    told = {page.text.replace(quote(path), "") for page, path in zip(pages, paths, strict=True)}
    assert len(told) == 1
    text = told.pop()
    assert "ask the firm" in text and "01632 960101" in text
    for secret in ("Kettle", "Brackenhow", "Staff room", "pass"):
        assert secret not in text


@pytest.mark.parametrize(
    "path", ["/L/x/0001", "/L/1/a b", "/L/1/%F0%9F%94%8C", "/L/99999999999999999999/1", "/L/1/<b>"]
)
def test_an_address_that_is_no_label_does_no_harm(world: World, browse_as: BrowseAs, path: str) -> None:
    for who in (None, world.owner):
        answer = browse_as(who).get(path)
        assert answer.status_code in (200, 404)
        assert "<b>" not in answer.text.replace("<body", "")


@pytest.mark.parametrize(
    ("address", "reach"),
    [
        ("https://office.tarn-alder.example", ""),
        ("https://10.example.org", ""),
        ("http://127.0.0.1:8765", "on this computer alone"),
        ("http://localhost:8765", "on this computer alone"),
        ("https://office-pc.local:8765", "in your own network alone"),
        ("https://192.168.1.20:8765", "in your own network alone"),
        ("https://172.20.0.2:8765", "in your own network alone"),
        ("https://172.32.0.2:8765", ""),
    ],
)
def test_how_far_a_code_reaches_is_said(
    desk: Desk, world: World, sheet_id: int, browse_as: BrowseAs, address: str, reach: str
) -> None:
    office = browse_as(world.office)
    office.app.state.desk = replace(desk, public_address=address)
    page = words_of(office.get(f"/premises/{world.premises_id}/labels"))
    assert (f"The codes will hold {address}, which opens {reach}." in page) == bool(reach)
    assert ("OHMSTEAD_ADDRESS" in page) == bool(reach)
