"""House limits and ranges on their pages."""

from tests.cast import BrowseAs, World


def test_the_owner_sets_and_ends_a_house_limit(browse_as: BrowseAs, world: World) -> None:
    owner = browse_as(world.owner)
    fields = {"check": "insulation-resistance", "value": "5", "reason": "Damp cellar", "valid_from": "2026-03-04"}
    assert owner.post("/house-limits", fields).status_code == 303
    shown = owner.get("/house-limits").text
    assert "Damp cellar" in shown and "at least 5 MΩ" in shown
    assert owner.post("/house-limits/1/end").status_code == 303
    assert "ended" in owner.get("/house-limits").text
    assert owner.post("/house-limits/1/end").status_code == 409


def test_what_is_wrong_stands_beside_its_field(browse_as: BrowseAs, world: World) -> None:
    owner = browse_as(world.owner)
    answer = owner.post(
        "/house-limits", {"check": "insulation-resistance", "value": "0,1", "reason": "", "valid_from": ""}
    )
    assert answer.status_code == 422
    assert "Give the first day" in answer.text and 'value="0,1"' in answer.text
    assert owner.post("/house-limits", {"check": "visual", "value": "1"}).status_code == 422
    assert "Damp" not in owner.get("/house-limits").text


def test_ranges_are_entered_and_removed(browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    path = f"/instruments/{world.instrument_id}"
    fields = {"check": "protective-conductor-resistance", "unit": "ohm", "least": "0", "most": "20", "percent": "2",
              "digits": "5", "resolution": "0.01"}  # fmt: skip
    assert office.post(f"{path}/ranges", fields).status_code == 303
    assert "2 % of the reading + 5 digits" in office.get(f"{path}/ranges").text
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
