"""House limits and ranges on their pages."""

from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of


def test_the_owner_sets_and_ends_a_house_limit(browse_as: BrowseAs, world: World) -> None:
    owner = browse_as(world.owner)
    fields = {"check": "insulation-resistance", "value": "5", "reason": "Damp cellar", "valid_from": "2026-03-04"}
    assert owner.post("/house-limits", fields).status_code == 303
    shown = words_of(owner.get("/house-limits"))
    assert "Damp cellar" in shown and "at least 5 MΩ" in shown and "everything" in shown
    assert "No house limit found" in words_of(owner.get("/house-limits", params={"q": "boiler"}))
    early = owner.post("/house-limits/1/end", {"ends_on": "2020-01-01"})
    assert early.status_code == 422 and "today or a later day" in words_of(early)
    assert owner.post("/house-limits/1/end", {"ends_on": "2099-01-01"}).status_code == 303
    assert "ends 1 Jan 2099" in words_of(owner.get("/house-limits"))
    assert owner.post("/house-limits/1/end").status_code == 303
    assert "ended" in owner.get("/house-limits").text
    assert owner.post("/house-limits/1/end").status_code == 409


def test_what_is_wrong_stands_beside_its_field_all_at_once(browse_as: BrowseAs, world: World) -> None:
    owner = browse_as(world.owner)
    answer = owner.post(
        "/house-limits", {"check": "insulation-resistance", "value": "0,1", "reason": "", "valid_from": ""}
    )
    assert answer.status_code == 422
    words = words_of(answer)
    assert "Give the first day" in words and "Say why" in words and "Give more than 0.25 MΩ" in words
    assert 'value="0,1"' in answer.text
    assert owner.post("/house-limits", {"check": "visual", "value": "1"}).status_code == 422
    assert "Damp" not in owner.get("/house-limits").text


def test_the_rulebooks_in_use_stand_beside_a_new_limit(browse_as: BrowseAs, world: World) -> None:
    """UK Code of Practice, 4th edition, as quoted by training pages: 1 MΩ Class I, 2 MΩ Class II; EN 50699 0.3 Ω."""
    owner = browse_as(world.owner)
    page = words_of(owner.get("/house-limits", params={"check": "insulation-resistance", "construction": "II"}))
    assert "UK, limits of 2012 says" in page and "Class II at least 2 MΩ" in page and "Class III at" not in page
    assert "EN 50699" not in page
    path = f"/customers/{world.other_customer_id}"
    sent = fields_of(owner.get(f"{path}/edit")) | {"rulebook_id": "en-50699"}
    assert owner.post(path, sent).status_code == 303
    both = owner.get("/house-limits", params={"check": "protective-conductor-resistance"})
    assert "Class I, cord 2 m of 0.75 mm² at most 0.3 Ω" in words_of(both)
    assert "UK, limits of 2012 says" in words_of(both)
    limit = {"check": "protective-conductor-resistance", "value": "0.25", "reason": "Asked", "valid_from": "2026-03-04"}
    theirs = limit | {"customer_id": str(world.other_customer_id)}
    assert owner.post("/house-limits", theirs | {"value": "1.5"}).status_code == 422
    assert owner.post("/house-limits", theirs).status_code == 303
    technician = browse_as(world.technician)
    item = words_of(technician.get(f"/items/{world.other_item_ids[0]}"))
    assert "Judged by EN 50699, limits of 2020 ; simple acceptance; 1 house limit" in item
    assert "At most 0.25 Ω (house limit" in item
    visit, line = f"/visits/{world.other_visit_id}", "limits of 2020 ; simple acceptance; 1 house limit"
    assert f"{line} if it started today" in words_of(technician.get(visit))
    assert technician.post(f"{visit}/start").status_code == 303
    begun = words_of(technician.get(visit))
    assert line in begun and "if it started today" not in begun
    page = words_of(technician.get(path))
    assert "EN 50699, limits of 2020 ; simple acceptance; 1 house limit" in page
    assert "protective conductor resistance at most 0.25 Ω : Asked" in page


def test_ranges_are_entered_and_removed(browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    path = f"/instruments/{world.instrument_id}"
    fields = {"check": "protective-conductor-resistance", "unit": "ohm", "least": "0", "most": "20", "percent": "2",
              "digits": "5", "resolution": "0.01"}  # fmt: skip
    assert office.post(f"{path}/ranges", fields).status_code == 303
    assert "2 % of the reading + 5 digits" in words_of(office.get(f"{path}/ranges"))
    assert office.post(f"{path}/ranges", fields | {"unit": "mA"}).status_code == 422
    assert office.post(f"{path}/ranges", fields | {"most": ""}).status_code == 422
    assert office.post(f"{path}/ranges/1/remove").status_code == 303
    assert "2 % + 5 digits" not in office.get(path).text
    assert office.post(f"{path}/ranges/1/remove").status_code == 404


def test_a_customers_own_rulebook_is_kept(browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    path = f"/customers/{world.customer_id}"
    version = {"name": "Brackenhow Primary School", "version": "1"}
    assert office.post(path, version | {"rulebook_id": "en-50699", "decision_rule": "guard-band"}).status_code == 303
    shown = office.get(f"{path}/edit").text
    assert '<option value="en-50699" selected>' in shown and '<option value="guard-band" selected>' in shown
    assert office.post(path, version | {"version": "2", "rulebook_id": "uk-1066"}).status_code == 422
