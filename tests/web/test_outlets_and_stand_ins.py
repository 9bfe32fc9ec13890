"""On the visit sheet: at which outlet of a lead the polarity is wrong, and why one check stands in for another.

Insulation may be replaced by a leakage current where it cannot be tested (UK tester's notes). 0.1312 Ω is 0.1 + 2 m of
1.25 mm² at 0.0156 Ω/m (UK flex tables, from memory).
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.actions import items
from app.actions.deeds import Desk
from app.rules.equipment import Cord, ItemFacts, Kind, Use
from app.rules.items import ItemDetails
from app.store.items import get_item, list_open_defects
from app.store.readings import get_visit_item
from tests.cast import KETTLE, LEAD, BrowseAs, World
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import begin, kept, sheet_of

SUBSTITUTE, WHY = "substitute-leakage-current", "note-substitute-leakage-current"
LOOKED_AT = {"visual": "satisfactory"}
WIRED = LOOKED_AT | {f"protective-conductor-resistance-{place}": "0.12" for place in (1, 2, 3, 4)}


def begun_with(desk: Desk, world: World, facts: ItemFacts) -> World:
    """The visit under way, its first item being this."""
    with desk.doing(world.owner) as deed:
        item = get_item(deed.session, world.item_ids[0])
        details = ItemDetails(item.number, "The item", item.location_id, facts=facts)
        items.change_item(deed, item.id, details, item.version)
    return begin(desk, world)


@pytest.fixture
def block(desk: Desk, world: World) -> World:
    cord = Cord(Decimal("1.25"), Decimal(2))
    return begun_with(desk, world, replace(LEAD, kind=Kind.MULTIWAY_LEAD, outlets=4, cord=cord))


@pytest.fixture
def printer(desk: Desk, world: World) -> World:
    return begun_with(desk, world, replace(KETTLE, heating=False, use=Use.IT))


def test_a_crossed_outlet_is_named(desk: Desk, browse_as: BrowseAs, block: World) -> None:
    browse, crossed = browse_as(block.technician), WIRED | {"polarity": "defect", "note-polarity": "L and N changed"}
    assert "Right at every outlet" in words_of(browse.get(sheet_of(block)))
    answer = browse.post(sheet_of(block), crossed)
    assert answer.status_code == 422
    assert "Mark each outlet that is crossed or broken." in words_of(answer)
    assert browse.post(sheet_of(block), crossed | {"outlet-2": "yes", "outlet-4": "yes"}).status_code == 303
    page = browse.get(sheet_of(block))
    shown = fields_of(page)
    assert [name for name in shown if name.startswith("outlet-")] == ["outlet-2", "outlet-4"]
    assert (shown["polarity"], shown["note-polarity"]) == ("defect", "L and N changed")
    assert "outlet 4: fail, crossed or broken. L and N changed" in words_of(page)
    with desk.reading_only() as session:
        found = [defect.found for defect in list_open_defects(session, block.item_ids[0])]
    assert found == [f"Polarity, outlet {place}: crossed or broken. L and N changed" for place in (2, 4)]


def test_one_answer_is_enough_where_every_outlet_is_right(desk: Desk, browse_as: BrowseAs, block: World) -> None:
    browse = browse_as(block.technician)
    good = WIRED | {"polarity": "satisfactory", "insulation-resistance": "99"}
    browse.post(sheet_of(block), good | {"outlet-3": "yes"})
    assert kept(desk, block)[0] == "pass"
    assert "outlet-3" not in fields_of(browse.get(sheet_of(block))), "a mark that belongs to no defect is not kept"


def test_why_a_check_stands_in_is_asked_kept_and_told(desk: Desk, browse_as: BrowseAs, printer: World) -> None:
    browse = browse_as(printer.technician)
    done = LOOKED_AT | {"protective-conductor-resistance": "0.1", SUBSTITUTE: "1.2"}
    page = browse.get(sheet_of(printer))
    assert "Why it stands in for the insulation resistance" in words_of(page)
    assert 'data-say="the insulation test could harm it"' in page.text
    browse.post(sheet_of(printer), done)
    asked = browse.get(f"{sheet_of(printer)}/parts/verdict", params=done)
    assert "stands in for the insulation resistance, as it may" in words_of(asked)
    assert "note why" in words_of(asked)
    why = {WHY: "the maker forbids the insulation test"}
    told = browse.get(f"{sheet_of(printer)}/parts/verdict", params=done | why)
    assert "stands in for the insulation resistance: the maker forbids the insulation test." in words_of(told)
    browse.post(sheet_of(printer), done | why)
    assert kept(desk, printer)[0] == "pass"
    page = browse.get(sheet_of(printer))
    assert fields_of(page)[WHY] == why[WHY]
    assert "to spare. The maker forbids the insulation test." in words_of(page)


def test_a_reason_goes_with_what_it_was_the_reason_for(desk: Desk, browse_as: BrowseAs, printer: World) -> None:
    browse, measured = browse_as(printer.technician), {"insulation-resistance": "> 20"}
    done = LOOKED_AT | {"protective-conductor-resistance": "0.1", SUBSTITUTE: "1.2", WHY: "no time"}
    browse.post(sheet_of(printer), done | measured)
    with desk.reading_only() as session:
        readings = get_visit_item(session, printer.visit_id, printer.item_ids[0]).readings
        assert [row.note for row in readings] == ["", "", "", ""]
    too_long = browse.post(sheet_of(printer), done | {WHY: "x" * 201})
    assert too_long.status_code == 422
    assert f'id="f-{WHY}-mistake"' in too_long.text
