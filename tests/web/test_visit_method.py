"""How protective conductors are measured at a visit: the test lead, both directions, warm cords, several metal parts.

0.139 Ω is 0.1 + 1.5 m of 0.75 mm² at 0.0260 Ω/m (UK Code of Practice, 4th edition; IEC 60228, class 5).
"""

import pytest

from app.actions.deeds import Desk
from app.store.readings import get_visit_item
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import GOOD_KETTLE, begin, kept, sheet_of

EARTH = "protective-conductor-resistance"


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    return begin(desk, world)


def test_a_lead_is_set_for_the_visit_and_taken_off_each_reading(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse, visit = browse_as(begun.technician), f"/visits/{begun.visit_id}"
    assert 'name="lead"' not in browse.get(sheet_of(begun)).text
    answer = browse.post(f"{visit}/method", {"lead_ohms": "0,05"})
    assert answer.headers["location"] == f"{visit}/sheet"
    assert "less 0.05 Ω of test lead" in words_of(browse.get(f"{visit}/sheet"))
    form = fields_of(browse.get(sheet_of(begun)))
    assert form["lead"] == "0.05"
    browse.post(sheet_of(begun), form | GOOD_KETTLE | {EARTH: "0.18"})
    assert kept(desk, begun)[0] == "pass"
    assert "0.18 Ω less 0.05 Ω of test lead = 0.13 Ω, at most 0.139 Ω" in words_of(browse.get(sheet_of(begun)))
    # The visit's lead changes; what is saved keeps its own until somebody changes it.
    browse.post(f"{visit}/method", {"lead_ohms": ""})
    assert fields_of(browse.get(sheet_of(begun)))["lead"] == "0.05"
    assert 'name="lead"' not in browse.get(sheet_of(begun, 2)).text, "nothing is subtracted from what is still to do"


def test_a_lead_bigger_than_the_reading_is_a_mistake_beside_the_field(
    desk: Desk, browse_as: BrowseAs, begun: World
) -> None:
    browse = browse_as(begun.technician)
    browse.post(f"/visits/{begun.visit_id}/method", {"lead_ohms": "0.3"})
    answer = browse.post(sheet_of(begun), GOOD_KETTLE | {EARTH: "0.18", "lead": "0.3"})
    assert answer.status_code == 422
    mistake = answer.text.split(f'id="f-{EARTH}-mistake"')[1].split("</p>")[0]
    assert "The test lead (0.3 Ω) is bigger than the reading (0.18 Ω)." in mistake
    assert kept(desk, begun) == (None, {})
    answer = browse.post(sheet_of(begun), GOOD_KETTLE | {"lead": "abc"})
    assert 'id="f-lead-mistake"' in answer.text


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"lead_ohms": "6"}, "lead_ohms"), ({"lead_ohms": "x"}, "lead_ohms"), ({"conductor_c": "41"}, "conductor_c")],
)
def test_an_impossible_method_is_refused(browse_as: BrowseAs, begun: World, typed: dict[str, str], field: str) -> None:
    answer = browse_as(begun.technician).post(f"/visits/{begun.visit_id}/method", typed)
    assert answer.status_code == 422
    assert f'id="f-{field}-mistake"' in answer.text


def test_both_directions_give_two_fields_and_the_worse_one_counts(
    desk: Desk, browse_as: BrowseAs, begun: World
) -> None:
    browse = browse_as(begun.technician)
    browse.post(f"/visits/{begun.visit_id}/method", {"both_ways": "yes"})
    one_way = GOOD_KETTLE | {EARTH: "0.11"}
    browse.post(sheet_of(begun), one_way)
    assert kept(desk, begun)[0] == "incomplete"
    assert "the other way round: reversed" in words_of(browse.get(sheet_of(begun)))
    browse.post(sheet_of(begun), one_way | {f"{EARTH}-reversed": "0.12"})
    assert kept(desk, begun)[0] == "pass"
    shown = fields_of(browse.get(sheet_of(begun)))
    assert (shown[EARTH], shown[f"{EARTH}-reversed"]) == ("0.11", "0.12")
    worse = {"visual": "satisfactory", EARTH: "0.11", f"{EARTH}-reversed": "0.2"}
    browse.post(sheet_of(begun), worse)
    assert kept(desk, begun)[0] == "fail"


def test_a_warm_cord_has_its_own_limit_shown_before_entry(browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    browse.post(f"/visits/{begun.visit_id}/method", {"conductor_c": "30"})
    # BS 7671/IEC 60228 give R20 = R30 × 0.962 (IEC 60228, annex: 254.5 / (234.5 + 30)): 0.039 / 0.962 + 0.1.
    assert "At most 0.1405 Ω" in words_of(browse.get(sheet_of(begun)))


def test_a_reading_that_jumped_fails(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    browse.post(sheet_of(begun), {"visual": "satisfactory", EARTH: "0.05", f"jumped-{EARTH}": "yes"})
    assert kept(desk, begun)[0] == "fail"
    page = browse.get(sheet_of(begun))
    assert fields_of(page)[f"jumped-{EARTH}"] == "yes"
    assert "the reading jumped as the cord was moved: fail" in words_of(page)


def test_several_metal_parts_are_named_and_each_is_kept(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse = browse_as(begun.technician)
    two = GOOD_KETTLE | {f"{EARTH}-2": "0.13"}
    browse.post(sheet_of(begun), two)
    assert fields_of(browse.get(sheet_of(begun)))["point-2"] == "metal part 2", "one without a name is numbered"
    same = {"point-1": "Body", "point-2": "Body"}
    assert "Two metal parts have this name." in words_of(browse.post(sheet_of(begun), two | same))
    browse.post(sheet_of(begun), two | {"point-1": "Body", "point-2": "Lid"})
    with desk.reading_only() as session:
        rows = get_visit_item(session, begun.visit_id, begun.item_ids[0]).readings
        assert [(row.point, f"{row.value}") for row in rows if row.check == EARTH] == [
            ("Body", "0.11"),
            ("Lid", "0.13"),
        ]
    shown = fields_of(browse.get(sheet_of(begun)))
    assert (shown["point-1"], shown["point-2"], shown[f"{EARTH}-2"]) == ("Body", "Lid", "0.13")
    browse.post(sheet_of(begun), {"visual": "satisfactory", EARTH: "0.11", f"{EARTH}-2": "0.3", "point-2": "Lid"})
    assert kept(desk, begun)[0] == "fail", "the worst one counts"


def test_an_extension_lead_has_no_metal_parts_to_add(browse_as: BrowseAs, begun: World) -> None:
    assert "Add a point" not in words_of(browse_as(begun.technician).get(sheet_of(begun, 2)))
