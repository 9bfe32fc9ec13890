"""Evidence for intervals: counted once, judged by exact bounds, never pooled.

With 0 of 3 failed the one-sided 95 % upper bound is 1 − 0.05^(1/3) = 63.2 % (Clopper and Pearson, closed form).
"""

import re
from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.equipment_types import add_equipment_type
from app.actions.items import add_item
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.items import EquipmentTypeDetails, ItemDetails
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import NotTested
from app.store.items import get_item
from tests.cast import KETTLE, BrowseAs, Clock, World
from tests.web.page_text import words_of

LOOKED_AT = Entry(Check.VISUAL, outcome=Outcome.PASS)
INSULATED = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE))


def earth(value: str) -> Entry:
    return Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal(value), Unit.OHM))


def test_failures_are_counted_by_group(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        visits.start_visit(deed, world.other_visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], [LOOKED_AT, earth("0.3")])
        record_item(deed, world.visit_id, world.item_ids[1], [LOOKED_AT, INSULATED])
        leave_item(deed, world.visit_id, world.item_ids[2], NotTested.NOT_FOUND)
        record_item(deed, world.other_visit_id, world.other_item_ids[0], [LOOKED_AT, earth("0.1"), INSULATED])
    owner = browse_as(world.owner)
    page = owner.get("/evidence").text.replace("\u00a0", " ")
    assert "1 failure in 3 tests of 3 items over 3 years" in page
    assert "1 of 2 failed" in page and "0 of 1 failed" in page  # the school and the brewery apart
    assert "not below 2 %" in words_of(owner.get("/evidence?view=two-percent"))
    mine = owner.get(f"/evidence?customer={world.other_customer_id}").text.replace("\u00a0", " ")
    assert "0 failures in 1 test of 1 item" in mine and "1 of 2 failed" not in mine


def test_what_is_older_does_not_count(browse_as: BrowseAs, world: World, desk: Desk, clock: Clock) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], [LOOKED_AT, earth("0.3")])
    clock.pass_time(days=800)
    assert "Nothing tested in this time" in browse_as(world.owner).get("/evidence?years=2").text
    assert "1 of 1 failed" in browse_as(world.owner).get("/evidence?years=3").text


def test_the_bound_is_exact(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        for item_id, entries in zip(
            world.item_ids,
            ([LOOKED_AT, earth("0.1"), INSULATED], [LOOKED_AT, INSULATED],
             [LOOKED_AT, earth("0.1"), Entry(Check.POLARITY, outcome=Outcome.PASS), INSULATED]),
            strict=True,
        ):  # fmt: skip
            record_item(deed, world.visit_id, item_id, entries)
    assert "63.2 %" in words_of(browse_as(world.owner).get("/evidence"))


def test_filters_stay_in_the_address_and_bounds_stand_on_both_sides(
    browse_as: BrowseAs, world: World, desk: Desk
) -> None:
    """1 of 1 failed: 2.5 % to 100 % (0.025 to 1; Clopper and Pearson, closed form)."""
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        get_item(deed.session, world.item_ids[0]).equipment_type_id = world.equipment_type_id
        record_item(deed, world.visit_id, world.item_ids[0], [LOOKED_AT, earth("0.3")])
    office = browse_as(world.office)
    asked = f"/evidence?customer={world.customer_id}&type={world.equipment_type_id}&environment=school&years=1"
    page = office.get(asked).text.replace("\u00a0", " ")
    assert "100 % 2.5 % to 100 %" in " ".join(re.sub("<[^>]*>", " ", page).split())
    assert f'<option value="{world.equipment_type_id}" selected>Kettle</option>' in page
    assert '<option value="school" selected>' in page
    assert f"/evidence/{world.customer_id}/{world.equipment_type_id}/school?years=1" in page
    assert "an item counts once" in page
    assert "Nothing tested in this time" in office.get(asked.replace("school", "office")).text
    german = office.get(f"{asked}&view=two-percent").text
    assert "at most 100 %" in german.replace("\u00a0", " ")
    assert "every test counts" in german and "24 months in offices" in german
    assert office.get("/evidence?environment=moon&years=99&view=x&from=0&type=-1").status_code == 200


def test_a_long_list_is_turned_over(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.owner) as deed:
        for number in range(43):
            kind = add_equipment_type(deed, EquipmentTypeDetails(f"Lamp {number}", KETTLE))
            location = world.location_id
            item = add_item(deed, ItemDetails("", "Lamp", location, kind.id, facts=KETTLE, own_checks=["visual"]))
            world.item_ids.append(item.id)
        visits.start_visit(deed, world.visit_id)
        for item_id in world.item_ids[3:]:
            record_item(deed, world.visit_id, item_id, [LOOKED_AT])
    office = browse_as(world.office)
    first = office.get("/evidence?years=2").text
    assert "1–40 of 43" in first and "/evidence?years=2&amp;view=exact&amp;from=41" in first
    assert "41–43 of 43" in office.get("/evidence?years=2&view=exact&from=41").text
