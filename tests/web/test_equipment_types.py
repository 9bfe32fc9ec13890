"""Equipment types: the list, new ones, and changes that leave items as they are."""

from decimal import Decimal

from app.actions.deeds import Desk
from app.store.equipment_types import list_equipment_types
from app.store.items import get_item
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of


def test_the_list_shows_usual_values_and_searches(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.technician)
    page = browse.get("/equipment-types")
    assert "Kettle Appliance Class I Portable 2200 W, heating 1.5 m, 0.75 mm² 13 A as suggested 0" in words_of(page)
    assert "/equipment-types/new" not in page.text
    assert "No type found" in words_of(browse.get("/equipment-types", params={"q": "toaster"}))
    assert "Kettle" in words_of(browse.get("/equipment-types", params={"q": "KET class i"}))


def test_a_type_is_added_and_its_mistakes_named(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    shown = fields_of(browse.get("/equipment-types/new"))
    for name, sentence in (("", "Give the equipment type a name."), ("KETTLE", "of this name already.")):
        answer = browse.post("/equipment-types", shown | {"name": name, "cord_length_m": "1.5"})
        assert answer.status_code == 422
        assert sentence in words_of(answer)
        assert fields_of(answer)["cord_length_m"] == "1.5"
    wrong = browse.post("/equipment-types", shown | {"name": "Lead", "kind": "extension-lead", "cord": "none"})
    assert wrong.status_code == 422
    assert "choose attached or detachable" in words_of(wrong)
    sent = shown | {
        "name": "Lead",
        "kind": "extension-lead",
        "cord_length_m": "5",
        "outlets": "4",
        "interval_months": "12",
    }
    hidden = {"heating": "yes", "motor": "yes", "rated_power_w": "500"}
    assert browse.post("/equipment-types", sent | hidden).status_code == 303
    other = {"name": "Fan", "kind": "appliance", "reel": "drum"}
    assert browse.post("/equipment-types", sent | hidden | other).status_code == 303
    with desk.reading_only() as session:
        fan = next(row for row in list_equipment_types(session) if row.name == "Fan").facts
        assert (fan.motor, fan.heating, fan.outlets, fan.reel) == (True, True, 0, None)
        row = next(row for row in list_equipment_types(session) if row.name == "Lead")
        assert (row.facts.outlets, row.interval_months) == (4, 12)
        assert (row.facts.heating, row.facts.motor, row.facts.rated_power_w) == (False, False, None)
        assert row.facts.cord is not None
        assert row.facts.cord.length_m == Decimal(5)


def test_a_longer_usual_interval_wants_a_reason_and_a_tick(browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/equipment-types/{world.equipment_type_id}"
    form = browse.get(f"{address}/edit")
    assert "dutyholder, has to keep it safe" in words_of(form) and "Decide it all the same" not in words_of(form)
    shown = fields_of(form) | {"interval_months": "120"}
    answer = browse.post(address, shown)
    assert answer.status_code == 422
    # HSE INDG236: earthed, 1 to 2 years.
    assert "Office: HSE's row ends at 24 months" in words_of(answer) and "Say why" in words_of(answer)
    told = shown | {"interval_reason": "Sealed in a cupboard", "all_the_same": "yes"}
    assert browse.post(address, told).status_code == 303
    assert fields_of(browse.get(f"{address}/edit"))["interval_reason"] == "Sealed in a cupboard"


def test_a_change_leaves_items_as_they_are(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/equipment-types/{world.equipment_type_id}"
    form = browse.get(f"/premises/{world.premises_id}/items/new", params={"type": world.equipment_type_id})
    added = browse.post(f"/premises/{world.premises_id}/items", fields_of(form))
    shown = fields_of(browse.get(f"{address}/edit"))
    assert browse.post(address, shown | {"rated_power_w": "3000"}).status_code == 303
    assert browse.post(address, shown | {"rated_power_w": "1000"}).status_code == 409
    with desk.reading_only() as session:
        item = get_item(session, int(added.headers["location"].split("/")[-1]))
        assert item.facts.rated_power_w == Decimal(2200)
    assert "3000 W" in words_of(browse.get("/equipment-types"))
    assert browse.get("/equipment-types/999999/edit").status_code == 404
