"""Reading histories from both databases: lead subtracted, units of the limit, one question for a whole visit."""

from decimal import Decimal

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.actions.remedies import put_right
from app.rules.certificates import ItemResult
from app.rules.charts import list_points
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.reading_histories import list_since_repair
from app.rules.remedies import Change, PutRight
from app.rules.verdicts import Outcome
from app.store.paper_facts import facts_for_certificate
from app.store.reading_histories import list_reading_histories, list_visit_histories
from app.store.readings import get_visit_item
from tests.cast import Clock, World
from tests.questions import hearing
from tests.rising_readings import kettle_entries, visit_repeatedly

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE


def test_the_history_of_an_item_is_in_the_unit_of_its_limit(desk: Desk, world: World, clock: Clock) -> None:
    ids = visit_repeatedly(desk, world, clock)
    with desk.doing(world.owner) as deed:
        reading = next(each for each in get_visit_item(deed.session, ids[0], world.item_ids[0]).readings if each.value)
        reading.value, reading.unit, reading.lead_ohms = Decimal("90"), "mohm", Decimal("0.03")
    with desk.reading_only() as session:
        earth, insulation = list_reading_histories(session, [world.item_ids[0]])
    assert (earth.check, earth.unit.symbol, earth.at_most) == (EARTH, "Ω", Decimal("0.139"))
    assert [reading.value for reading in earth.past] == [
        Decimal(text) for text in ("0.06", "0.06", "0.08", "0.10", "0.12")
    ]
    assert all(reading.exact for reading in earth.past)
    assert {reading.instrument for reading in earth.past} == {"Blue tester T-4471"}
    assert not any(reading.exact for reading in insulation.past), "more than 200 MΩ is no exact reading"


def test_a_whole_visit_takes_one_question(desk: Desk, world: World, clock: Clock) -> None:
    ids = visit_repeatedly(desk, world, clock)
    with desk.reading_only() as session:
        with hearing(desk) as asked:
            found = list_visit_histories(session, ids[-1])
        assert len(asked) == 1
        assert {history.check for history in found} == {EARTH, Check.INSULATION_RESISTANCE}
        first = list_visit_histories(session, ids[0], clock.today.replace(year=clock.today.year - 1))
        assert first == [], "what was tested later is not known at an earlier visit"


def test_a_certificate_has_the_warning_as_a_remark(desk: Desk, world: World, clock: Clock) -> None:
    ids = visit_repeatedly(desk, world, clock)

    def kettle(visit_id: int) -> ItemResult:
        with desk.reading_only() as session:
            facts = facts_for_certificate(
                session, visit_id, number="C-1", code="x", address="https://x.example",
                by=world.owner, now=desk.now, today=desk.today,
            )  # fmt: skip
        return next(row for row in facts.rows if row.description == "Kettle")

    last = kettle(ids[-1])
    assert last.verdict == "pass"
    assert any("moving towards its limit over 5 visits" in remark for remark in last.remarks)
    # A certificate of an earlier visit that is issued late says what was known then.
    assert kettle(ids[2]).remarks == ()


def test_what_was_found_before_a_repair_stays_and_begins_every_history_anew(
    desk: Desk, world: World, clock: Clock
) -> None:
    """The earth fails and its screw is tightened on the spot: what else was touched then is not known."""
    visit_repeatedly(desk, world, clock, ("0.10",))
    kettle = world.item_ids[0]
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, kettle, kettle_entries("0.50")[:2])
        put_right(deed, world.visit_id, kettle, PutRight(Change.OTHER, words="loose earth screw tightened"))
        record_item(deed, world.visit_id, kettle, kettle_entries("0.06"))
    with desk.reading_only() as session:
        earth, insulation = list_reading_histories(session, [kettle])
    told = [(str(each.value), each.failed, each.repaired) for each in earth.past]
    assert told == [("0.10", False, False), ("0.50", True, False), ("0.06", False, True)]
    assert [each.repaired for each in insulation.past] == [False, True]
    assert [len(list_since_repair(each.past)) for each in (earth, insulation)] == [1, 1]
    assert [point.change for point in list_points(earth)] == ["", "", "repaired"]


@pytest.mark.parametrize("after_repair", [True, False])
def test_a_repair_between_two_visits_begins_every_history_anew(
    desk: Desk, world: World, clock: Clock, after_repair: bool
) -> None:
    """Failed to the eye alone, nothing measured; at the next visit it passes, said to be after a repair or not."""
    kettle = world.item_ids[0]
    visit_repeatedly(desk, world, clock, ("0.10", "0.11"))
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        if not after_repair:
            record_item(deed, world.visit_id, kettle, [Entry(Check.VISUAL, outcome=Outcome.FAIL, point="plug-fuse")])
        else:
            record_item(deed, world.visit_id, kettle, kettle_entries("0.05"), after_repair=True)
    if not after_repair:
        clock.pass_time(days=182)
        visit_repeatedly(desk, world, clock, ("0.05",))
    with desk.reading_only() as session:
        earth, insulation = list_reading_histories(session, [kettle])
    assert [each.repaired for each in earth.past] == [each.repaired for each in insulation.past] == [False, False, True]
