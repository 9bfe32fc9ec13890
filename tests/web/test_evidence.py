"""Evidence for intervals: counted once, judged by exact bounds, never pooled.

With 0 of 3 failed the one-sided 95 % upper bound is 1 − 0.05^(1/3) = 63.2 % (Clopper and Pearson, closed form).
"""

from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import NotTested
from tests.cast import BrowseAs, Clock, World

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
    assert "not below 2 %" in owner.get("/evidence?view=two-percent").text
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
    assert "63.2 %" in browse_as(world.owner).get("/evidence").text
