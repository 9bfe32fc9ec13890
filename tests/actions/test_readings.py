"""Recording an item: the verdict is kept with its limit, working and source, and moves the item along."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from app.actions import items, visits
from app.actions.deeds import Desk
from app.actions.intervals import decide_interval
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.equipment import Cord
from app.rules.interval_decisions import IntervalDecision
from app.rules.items import ItemState
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Mistakes, Outcome, Refused, Verdict
from app.rules.visits import Booking, NotTested
from app.store.database import Missing
from app.store.items import get_item, list_open_defects
from app.store.readings import count_progress, get_visit_item
from tests.cast import Clock, World


def ohms(value: str, **more: object) -> Entry:
    return Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal(value), Unit.OHM, Bound.EXACT), **more)  # type: ignore[arg-type]


LOOKED_AT = Entry(Check.VISUAL, outcome=Outcome.PASS)
INSULATED = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE))
GOOD_KETTLE = [LOOKED_AT, ohms("0.11"), INSULATED]


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    return world


def record(desk: Desk, world: World, entries: list[Entry], **more: object) -> Verdict:
    with desk.doing(world.technician) as deed:
        return record_item(deed, world.visit_id, world.item_ids[0], entries, **more).verdict  # type: ignore[arg-type]


def test_a_pass_keeps_limit_working_and_source(desk: Desk, begun: World) -> None:
    # 0.1 + R with R from IEC 60228 class 5: 1.5 m of 0.75 mm² at 0.0260 ohm/m is 0.039 ohm.
    assert record(desk, begun, GOOD_KETTLE) == Verdict.PASS
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[0])
        earth = next(reading for reading in row.readings if reading.check == Check.PROTECTIVE_CONDUCTOR_RESISTANCE)
        assert earth.at_most == Decimal("0.139")
        assert earth.value == Decimal("0.11")
        assert earth.margin == Decimal("0.029")
        assert "0.026" in earth.working
        assert "IEC 60228" in earth.source + earth.sentence
        assert (row.rulebook_id, row.rulebook_version != "") == ("uk-2012", True)


def test_a_pass_sets_the_next_due_date_from_the_visit(desk: Desk, begun: World) -> None:
    record(desk, begun, GOOD_KETTLE)
    with desk.reading_only() as session:
        item = get_item(session, begun.item_ids[0])
        # HSE INDG236: earthed Class I, 1 to 2 years; the shorter end to begin with.
        assert (item.last_tested_on, item.next_due_on) == (date(2026, 3, 4), date(2027, 3, 4))


def test_an_interval_of_its_own_counts(desk: Desk, begun: World) -> None:
    with desk.doing(begun.technician) as deed:
        decide_interval(deed, begun.item_ids[0], IntervalDecision(3, "Wet kitchen"))
    record(desk, begun, GOOD_KETTLE)
    with desk.reading_only() as session:
        assert get_item(session, begun.item_ids[0]).next_due_on == date(2026, 6, 4)


def test_a_fail_takes_the_item_out_of_use(desk: Desk, begun: World) -> None:
    assert record(desk, begun, [LOOKED_AT, ohms("0.21")], remedy="Replace the cord.") == Verdict.FAIL
    with desk.reading_only() as session:
        item = get_item(session, begun.item_ids[0])
        assert (item.state, item.next_due_on) == (ItemState.OUT_OF_USE.value, None)
        defect = list_open_defects(session, item.id)[0]
        assert "0.071" in defect.found
        assert defect.remedy == "Replace the cord."


def test_a_correction_at_the_same_visit_takes_the_failure_back(desk: Desk, begun: World) -> None:
    record(desk, begun, [LOOKED_AT, ohms("0.21")])
    assert record(desk, begun, GOOD_KETTLE) == Verdict.PASS
    with desk.reading_only() as session:
        item = get_item(session, begun.item_ids[0])
        assert item.state == ItemState.IN_USE
        assert list_open_defects(session, item.id) == []
        assert len(get_visit_item(session, begun.visit_id, item.id).readings) == 3


def test_a_pass_later_closes_an_older_defect(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    record(desk, world, [LOOKED_AT, ohms("0.21")])
    with desk.doing(world.technician) as deed:
        for item_id in world.item_ids[1:]:
            leave_item(deed, world.visit_id, item_id, NotTested.IN_USE)
        visits.finish_visit(deed, world.visit_id)
    clock.pass_time(days=7)
    with desk.doing(world.office) as deed:
        second = visits.book_visit(
            deed, Booking(world.premises_id, world.technician.id, world.instrument_id, clock.today)
        ).id
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, second)
        record_item(deed, second, world.item_ids[0], GOOD_KETTLE)
    with desk.reading_only() as session:
        assert list_open_defects(session, world.item_ids[0]) == []
        assert get_item(session, world.item_ids[0]).state == ItemState.IN_USE


def test_what_failed_is_repeated_before_a_pass_closes_it(desk: Desk, world: World, clock: Clock) -> None:
    """A functional check is required by no rulebook, but of an item that failed it."""
    works = Entry(Check.FUNCTIONAL, outcome=Outcome.FAIL, note="No heat")
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], [*GOOD_KETTLE, works])
        for item_id in world.item_ids[1:]:
            leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    clock.pass_time(days=7)
    with desk.doing(world.office) as deed:
        again = visits.book_visit(
            deed, Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
        )
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, again.id)
        without = record_item(deed, again.id, world.item_ids[0], GOOD_KETTLE)
        assert (without.verdict, without.missing) == (Verdict.INCOMPLETE, (Check.FUNCTIONAL,))
        assert list_open_defects(deed.session, world.item_ids[0])
        with_it = record_item(deed, again.id, world.item_ids[0], [*GOOD_KETTLE, replace(works, outcome=Outcome.PASS)])
        assert with_it.verdict == Verdict.PASS
        assert not list_open_defects(deed.session, world.item_ids[0])
        assert record_item(deed, again.id, world.item_ids[0], GOOD_KETTLE).verdict == Verdict.PASS, "it is closed now"


def test_a_missing_check_is_incomplete_and_never_a_pass(desk: Desk, begun: World) -> None:
    assert record(desk, begun, [LOOKED_AT, ohms("0.11")]) == Verdict.INCOMPLETE
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[0])
        assert row.missing == [Check.INSULATION_RESISTANCE.value]
        assert count_progress(session, begun.visit_id).incomplete == 1


def test_facts_changed_later_do_not_rewrite_what_was_judged(desk: Desk, begun: World) -> None:

    record(desk, begun, GOOD_KETTLE)
    with desk.doing(begun.office) as deed:
        details = get_item(deed.session, begun.item_ids[0]).details
        facts = replace(details.facts, cord=Cord(Decimal("1.5"), Decimal("10")))
        items.change_item(deed, begun.item_ids[0], replace(details, facts=facts))
    with desk.reading_only() as session:
        row = get_visit_item(session, begun.visit_id, begun.item_ids[0])
        assert row.facts.cord is not None and row.facts.cord.length_m == Decimal("1.5")
        assert row.readings[1].at_most == Decimal("0.139")


def test_two_people_do_not_overwrite_each_other(desk: Desk, begun: World) -> None:
    record(desk, begun, GOOD_KETTLE, version=1)
    with pytest.raises(Refused, match="Somebody else"):
        record(desk, begun, [LOOKED_AT, ohms("0.21")], version=1)
    with desk.reading_only() as session:
        assert get_visit_item(session, begun.visit_id, begun.item_ids[0]).verdict == Verdict.PASS


def test_nothing_is_recorded_outside_a_visit_under_way(desk: Desk, world: World) -> None:

    with pytest.raises(Missing):
        record(desk, world, GOOD_KETTLE)  # not started: no item is on its list yet
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        for item_id in world.item_ids:
            leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    with pytest.raises(Refused, match="this one is finished"):
        record(desk, world, GOOD_KETTLE)


def test_other_needs_words_and_a_failure_stays(desk: Desk, begun: World) -> None:
    with pytest.raises(Mistakes), desk.doing(begun.technician) as deed:
        leave_item(deed, begun.visit_id, begun.item_ids[0], NotTested.OTHER, " ")
    record(desk, begun, [LOOKED_AT, ohms("0.21")])
    with pytest.raises(Refused, match="has failed"), desk.doing(begun.technician) as deed:
        leave_item(deed, begun.visit_id, begun.item_ids[0], NotTested.NOT_FOUND)
