"""The pack of a visit: what a tablet needs, in parts that say when they have changed."""

from decimal import Decimal
from typing import Any

import pytest

from app.actions.deeds import Desk
from app.actions.instruments import add_range
from app.rules.visits import VisitState
from app.store.readings import list_visit_items
from app.store.visits import get_visit
from tests.actions.test_judging import EARTH_RANGE
from tests.cast import Browse, BrowseAs, World
from tests.web.visit_sheets import GOOD_KETTLE, begin, sheet_of

JSON = {"Accept": "application/json"}


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    return begin(desk, world)


def pack_of(browse: Browse, world: World, more: str = "") -> Any:
    answer = browse.get(f"/visits/{world.visit_id}/pack{more}", headers=JSON)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_pack_says_what_there_is(browse_as: BrowseAs, begun: World) -> None:
    pack = pack_of(browse_as(begun.technician), begun)
    assert [item["number"] for item in pack["items"]] == ["0001", "0002", "0003"]
    assert {item["place"] for item in pack["items"]} == {"Staff room"}
    assert pack["numbers"]["0002"] == "Drill, Staff room"
    assert pack["free"][:2] == ["0004", "0005"]
    assert len(set(pack["free"])) == len(pack["free"])
    assert [kind["name"] for kind in pack["types"]] == ["Kettle"]
    assert pack["units"]["spellings"]["MΩ"] == ["resistance", 6]


def test_only_what_has_changed_has_another_mark(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    before = pack_of(browse, begun)
    assert browse.get(f"/visits/{begun.visit_id}/pack?mark={before['mark']}", headers=JSON).status_code == 204
    browse.post(sheet_of(begun), GOOD_KETTLE)
    after = pack_of(browse, begun, f"?mark={before['mark']}")
    changed = [new["number"] for old, new in zip(before["items"], after["items"], strict=True) if old != new]
    assert changed == ["0001"]
    with desk.doing(begun.owner) as deed:
        add_range(deed, begun.instrument_id, EARTH_RANGE)
    third = pack_of(browse, begun)
    marks = [[each["mark"] for each in pack["items"]] for pack in (after, third)]
    assert not set(marks[0]) & set(marks[1]), "how sure the instrument is decides on every screen"


def test_the_screens_are_those_of_the_pages_with_their_limits_as_numbers(browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    ids = ",".join(map(str, begun.item_ids))
    screens = browse.get(
        f"/visits/{begun.visit_id}/pack/screens?items={ids}&types={begun.equipment_type_id}", headers=JSON
    ).json()
    kettle, drill, lead = screens["items"]
    assert 'id="item-form"' in kettle["html"]
    assert "<html" not in kettle["html"]
    steps = {step["check"]: step for step in kettle["steps"]}
    earth = steps["protective-conductor-resistance"]["fields"][0]
    # 0.1 Ω + 1.5 m × 0.0260 Ω/m: IEC 60228 class 5, 0.75 mm².
    assert [earth["limit"][0], Decimal(earth["limit"][1])] == [None, Decimal("0.139")]
    assert (earth["rule"], earth["ranges"], earth["loosest"]) == ("simple", [], None)
    assert earth["unit"] == ["resistance", 0, "Ω"]
    assert steps["functional"]["energises"]
    assert not steps["insulation-resistance"]["energises"]
    assert "protective-conductor-resistance" not in {step["check"] for step in drill["steps"] if step["required"]}, (
        "Class II has no protective conductor"
    )
    assert lead["like"]["description"] == "Extension lead"
    assert screens["types"][0]["like"]["equipment_type_id"] == str(begun.equipment_type_id)
    assert 'id="item-form"' in screens["types"][0]["html"]
    many = ",".join(map(str, range(1, 40)))
    assert browse.get(f"/visits/{begun.visit_id}/pack/screens?items={many}", headers=JSON).status_code == 422


def test_a_visit_that_has_not_started_is_packed_as_if_it_had_and_stays_as_it_is(
    desk: Desk, browse_as: BrowseAs, world: World
) -> None:
    browse = browse_as(world.technician)
    pack = pack_of(browse, world)
    assert pack["state"] == "booked"
    assert [item["number"] for item in pack["items"]] == ["0001", "0002", "0003"]
    screens = browse.get(f"/visits/{world.visit_id}/pack/screens?items={world.item_ids[0]}", headers=JSON).json()
    assert 'id="item-form"' in screens["items"][0]["html"]
    with desk.reading_only() as session:
        visit = get_visit(session, world.visit_id)
        assert (visit.state, visit.house_limits) == (VisitState.BOOKED, None)
        assert list_visit_items(session, world.visit_id) == []


def test_nobody_gets_a_pack_without_signing_in(browse_as: BrowseAs, begun: World) -> None:
    answer = browse_as(None).get(f"/visits/{begun.visit_id}/pack", headers=JSON)
    assert answer.status_code == 401
    assert "items" not in answer.json()


def test_the_worker_names_files_that_are_there_and_no_page(browse_as: BrowseAs, begun: World) -> None:
    answer = browse_as(begun.technician).get("/sheet-worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert "/static/js/tablet/outbox.js" in answer.text
    assert "invoices" not in answer.text


def test_who_is_signed_in_and_what_to_prepare(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.technician)
    person = browse.get("/on-this-tablet/person", headers=JSON).json()
    assert (person["id"], person["csrf"]) == (world.technician.id, browse.csrf)
    wanted = browse.get("/on-this-tablet/prepare", headers=JSON).json()
    assert [each["visit"] for each in wanted] == [world.visit_id, world.other_visit_id]
    assert browse_as(world.office).get("/on-this-tablet/prepare", headers=JSON).json() == []
