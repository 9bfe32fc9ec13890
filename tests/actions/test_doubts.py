"""What was decided about records in doubt holds for what was known then; no correction takes a record out of doubt."""

from datetime import timedelta
from decimal import Decimal

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.doubts import decide_on_doubt
from app.actions.instruments import add_calibration, strike_out_calibration
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.instruments import AsFound, CalibrationDetails
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.rules.visits import NotTested
from app.store.doubts import (
    count_doubtful_by_check,
    get_doubt,
    list_all_doubts,
    list_doubtful_customers,
    list_doubtful_records,
    list_doubts_of_visit,
    list_open_doubts,
    list_papers_of_records,
)
from app.store.journal import list_journal
from tests.cast import Clock, World
from tests.questions import hearing

GOOD = [
    Entry(Check.VISUAL, outcome=Outcome.PASS),
    Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE)),
]


def measure(
    desk: Desk, world: World, visit_id: int, item_ids: list[int], finish: bool = False, allowed: str = ""
) -> None:
    """Measure the drill; leave the rest where the visit is to be finished. allowed: the owner's reason."""
    with desk.doing(world.owner if allowed else world.technician) as deed:
        visits.start_visit(deed, visit_id, allowed)
        record_item(deed, visit_id, item_ids[1], GOOD)
        if finish:
            for item_id in (item_ids[0], item_ids[2]):
                leave_item(deed, visit_id, item_id, NotTested.NOT_FOUND)
            visits.finish_visit(deed, visit_id)


def calibrate(
    desk: Desk, world: World, number: str, passed: bool, found: AsFound = AsFound.UNSAID, days_ago: int = 0
) -> int:
    day = desk.today - timedelta(days=days_ago)
    with desk.doing(world.office) as deed:
        details = CalibrationDetails(day, day + timedelta(days=365), number, "", passed, found)
        return add_calibration(deed, world.instrument_id, details).id


def test_a_decision_is_for_the_records_known_then(desk: Desk, world: World, clock: Clock) -> None:
    measure(desk, world, world.visit_id, world.item_ids)
    clock.pass_time(days=3)
    key = f"calibration-{calibrate(desk, world, 'CAL-X', passed=False, days_ago=1)}"
    with pytest.raises(Mistakes), desk.doing(world.office) as deed:
        decide_on_doubt(deed, world.instrument_id, key, " ")
    with desk.doing(world.office) as deed:
        decide_on_doubt(deed, world.instrument_id, key, "Tested again with the spare")
        told = list_journal(deed.session, "instrument", world.instrument_id)[0].sentence
        assert told.endswith("failed its calibration on 6 March 2026: Tested again with the spare")
    with desk.reading_only() as session:
        assert list_open_doubts(session) == []
        [kept] = list_all_doubts(session)
        assert (kept.readings, kept.unanswered, kept.answers[0].until) == (1, 0, clock.today)
        assert count_doubtful_by_check(session, kept) == {Check.INSULATION_RESISTANCE: 1}
        assert [(each.customer, each.items) for each in list_doubtful_customers(session, kept, None)] == [
            ("Brackenhow Primary School", 1)
        ]
        records = list_doubtful_records(session, kept, Check.INSULATION_RESISTANCE)
        assert list_papers_of_records(session, records) == ({}, {})
    # Measured that day already, and brought in by a tablet after the decision.
    clock.pass_time(days=-3)
    measure(desk, world, world.other_visit_id, world.other_item_ids, allowed="Brought in later")
    clock.pass_time(days=3)
    with desk.reading_only() as session:
        assert [(each.readings, each.unanswered) for each in list_open_doubts(session)] == [(2, 1)]
        one = get_doubt(session, world.instrument_id, key)
        with hearing(desk) as asked:
            list_doubtful_records(session, one, None)
        assert len(asked) == 1, "however many records there are"
    for deed_done in ("DELETE FROM doubt_answers", "UPDATE doubt_answers SET decided = 'Nothing'"):
        with pytest.raises(DBAPIError, match="never changed or removed"), desk.doing(world.office) as deed:
            deed.session.execute(text(deed_done))


def test_a_doubt_that_reaches_further_back_is_open_again(desk: Desk, world: World, clock: Clock) -> None:
    measure(desk, world, world.visit_id, world.item_ids)
    clock.pass_time(days=5)
    good = calibrate(desk, world, "CAL-GOOD", passed=True)
    clock.pass_time(days=5)
    key = f"calibration-{calibrate(desk, world, 'CAL-X', passed=False)}"
    with pytest.raises(Refused, match="nothing to decide"), desk.doing(world.office) as deed:
        decide_on_doubt(deed, world.instrument_id, key, "No effect")
    measure(desk, world, world.other_visit_id, world.other_item_ids, allowed="The laboratory is late")
    with desk.doing(world.office) as deed:
        decide_on_doubt(deed, world.instrument_id, key, "The customer is told")
    with desk.reading_only() as session:
        assert list_open_doubts(session) == []
    with desk.doing(world.owner) as deed:
        strike_out_calibration(deed, world.instrument_id, good, "Of another tester")
    with desk.reading_only() as session:
        assert [(each.readings, each.unanswered) for each in list_open_doubts(session)] == [(2, 1)]


def test_a_correction_takes_no_reading_out_of_doubt(world: World, desk: Desk, clock: Clock) -> None:
    """An item that is saved again is signed for the new day, and what was measured with the failed instrument stays."""
    measure(desk, world, world.visit_id, world.item_ids, finish=True)
    clock.pass_time(days=5)
    calibrate(desk, world, "CAL-X", passed=False)
    clock.pass_time(days=5)
    calibrate(desk, world, "CAL-Y", passed=True)
    with desk.doing(world.office) as deed:
        visits.reopen_visit(deed, world.visit_id, "The note")
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[1], GOOD, note="New plug asked for")
    with desk.reading_only() as session:
        assert [(each.readings, each.doubt.until) for each in list_open_doubts(session)] == [
            (1, clock.today - timedelta(days=1))
        ]
        assert list_doubts_of_visit(session, world.visit_id)
        assert not list_doubts_of_visit(session, world.other_visit_id)
        [kept] = list_open_doubts(session)
    with desk.doing(world.office) as deed:
        decide_on_doubt(deed, world.instrument_id, kept.doubt.key, "The customer is told")
    with desk.reading_only() as session:
        assert list_open_doubts(session) == []
