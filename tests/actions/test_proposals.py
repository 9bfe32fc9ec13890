"""Asking for proposals, having them worked out in a process beside, and booking them: all or none, nothing twice."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date, time, timedelta
from threading import Barrier

import pytest
from sqlalchemy import insert

from app.actions.deeds import Desk
from app.actions.planners import want_visit
from app.actions.proposals import (
    NOTHING_DUE,
    Placing,
    ask_again_for_proposals,
    ask_for_proposals,
    book_proposals,
    place_by_hand,
    work_out_proposals,
)
from app.actions.visits import book_visit, cancel_visit
from app.actions.working_times import set_booking_rules, set_travel_time, set_working_times
from app.rules.answered_proposals import INSERTED, SOLVED
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking, VisitState
from app.rules.working_times import USUAL_WEEK, BookingRules, WorkingTimes
from app.store.items import ItemRow, get_item
from app.store.proposals import ProposalRow, RunState, get_proposal_run
from app.store.visits import list_visits
from tests.cast import Clock, World

MONDAY = date(2026, 3, 9)


def ask(desk: Desk, world: World, weeks: int = 2) -> int:
    """Both premises fall due, nothing is booked there, and the office asks."""
    with desk.doing(world.office) as deed:
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).next_due_on = MONDAY + timedelta(days=2)
        for visit in list_visits(deed.session, state=VisitState.BOOKED.value):
            if visit.booked_on == deed.today:
                cancel_visit(deed, visit.id, "for the test")
        return ask_for_proposals(deed, [world.premises_id, world.other_premises_id], MONDAY, weeks, 30).id


def ask_again(desk: Desk, world: World) -> int:
    with desk.doing(world.office) as deed:
        return ask_for_proposals(deed, [world.other_premises_id], MONDAY, 2, 30).id


def rows_of(desk: Desk, run_id: int) -> list[ProposalRow]:
    with desk.doing(None) as deed:  # a session whose rows can be looked at afterwards
        return list(get_proposal_run(deed.session, run_id).proposals)


def test_a_question_is_answered_by_the_solver_and_booked_at_once(desk: Desk, world: World) -> None:
    run_id = ask(desk, world)
    work_out_proposals(desk, run_id)
    rows = rows_of(desk, run_id)
    with desk.database.reading() as session:
        run = get_proposal_run(session, run_id)
        assert (run.state, run.method) == (RunState.ANSWERED, SOLVED)
    # One person goes to both on the day on which both fall due.
    assert [row.day for row in rows] == [MONDAY + timedelta(days=2)] * 2
    assert all(row.reasons and row.technician_id == world.technician.id for row in rows)
    with desk.doing(world.office) as deed:
        visits = book_proposals(deed, run_id, [row.id for row in rows])
    with desk.database.reading() as session:
        booked = list_visits(session, state=VisitState.BOOKED.value)
        assert {visit.id for visit in booked} == {visit.id for visit in visits}
        assert {visit.booked_time for visit in booked} == {row.starts_at for row in rows}
    with desk.doing(world.office) as deed, pytest.raises(Mistakes, match="not booked yet"):
        book_proposals(deed, run_id, [row.id for row in rows])


def test_what_waits_in_the_pool_for_the_premises_is_booked_with_it(desk: Desk, world: World) -> None:
    run_id = ask(desk, world)
    work_out_proposals(desk, run_id)
    one, _ = rows_of(desk, run_id)
    with desk.doing(world.office) as deed:
        soon = want_visit(deed, one.premises_id, MONDAY + timedelta(days=20), note="Ring first")
        later = want_visit(deed, one.premises_id, MONDAY + timedelta(days=300))
        (visit,) = book_proposals(deed, run_id, [one.id])
        assert (soon.visit_id, later.visit_id) == (visit.id, None)
        assert (visit.note, visit.minutes) == ("Ring first", one.minutes)


def test_a_visit_longer_than_a_day_is_proposed_and_booked_on_the_same_days(desk: Desk, world: World) -> None:
    run_id = ask(desk, world)
    with desk.doing(None) as deed:  # 200 kettles more at the school, at five minutes each (starting value)
        kettle = get_item(deed.session, world.item_ids[0])
        columns = {each.key: getattr(kettle, each.key) for each in ItemRow.__table__.columns if each.key != "id"}
        deed.session.execute(insert(ItemRow), [columns | {"number": f"K{number}"} for number in range(200)])
    work_out_proposals(desk, run_id)
    long, short = sorted(rows_of(desk, run_id), key=lambda row: -row.minutes)
    assert (long.premises_id, long.minutes, long.due_until) == (world.premises_id, 1030, MONDAY + timedelta(days=2))
    assert len(long.held) == 3 and sum(each.minutes for each in long.held) == 1030
    assert short.day not in [each.day for each in long.held[:-1]] and len(short.held) == 1
    with desk.doing(world.office) as deed:
        visits = {visit.premises_id: visit for visit in book_proposals(deed, run_id, [long.id, short.id])}
        made = visits[world.premises_id]
        assert made.held == long.held and (made.minutes, made.minutes_by_hand) == (1030, False)
        assert made.last_on == long.held[-1].day
    # Asked again over the same days: none of them is proposed to the person or with the instrument a second time.
    with desk.doing(world.office) as deed:
        cancel_visit(deed, visits[world.other_premises_id].id, "for the test")
    second = ask_again(desk, world)
    work_out_proposals(desk, second)
    (again,) = [row for row in rows_of(desk, second) if row.premises_id == world.other_premises_id]
    assert again.day is None or again.day not in [each.day for each in long.held[:-1]]
    with desk.doing(world.office) as deed:  # by hand it is spread alike, and refused where it would meet the other
        cancel_visit(deed, made.id, "for the test")
        third = ask_for_proposals(deed, [world.premises_id], MONDAY, 2, 30).id
    work_out_proposals(desk, third)
    (row,) = rows_of(desk, third)
    with desk.doing(world.office) as deed:
        place_by_hand(deed, third, row.id, Placing(world.technician.id, world.instrument_id, MONDAY, time(8, 30)))
        middle = Booking(world.other_premises_id, world.technician.id, world.instrument_id, MONDAY + timedelta(days=1),
                         time(10), minutes=30)  # fmt: skip
        book_visit(deed, middle)
    (row,) = rows_of(desk, third)
    assert [each.minutes for each in row.held] == [345, 345, 340]
    with pytest.raises(Refused, match="10 March 2026: Joss Alder is at "), desk.doing(world.office) as deed:
        book_proposals(deed, third, [row.id])


def test_no_answer_in_time_is_given_by_insertion(desk: Desk, world: World) -> None:
    run_id = ask(desk, world)
    work_out_proposals(desk, run_id, seconds=0)
    with desk.database.reading() as session:
        assert get_proposal_run(session, run_id).method == INSERTED
    assert all(row.day for row in rows_of(desk, run_id))


def test_nothing_is_booked_where_one_would_be_booked_twice(desk: Desk, world: World) -> None:
    one, other = ask(desk, world), ask(desk, world)
    for run_id in (one, other):
        work_out_proposals(desk, run_id)
    first, second = rows_of(desk, one), rows_of(desk, other)
    with desk.doing(world.office) as deed:
        book_proposals(deed, one, [first[0].id])
    with pytest.raises(Refused, match="a visit is booked there already"), desk.doing(world.office) as deed:
        book_proposals(deed, other, [row.id for row in second])
    # The technician is elsewhere at that time, by a booking made by hand since.
    rest = next(row for row in second if row.premises_id != first[0].premises_id)
    with desk.doing(world.office) as deed:
        booking = Booking(first[0].premises_id, world.technician.id, world.instrument_id, rest.day, rest.starts_at)  # type: ignore[arg-type]
        book_visit(deed, booking)
    with pytest.raises(Refused, match="Nothing was booked.* Joss Alder is at "), desk.doing(world.office) as deed:
        book_proposals(deed, other, [rest.id])
    assert all(row.visit_id is None for row in rows_of(desk, other))


def test_of_two_who_book_at_the_same_moment_one_is_refused(desk: Desk, world: World) -> None:
    runs = [ask(desk, world), ask(desk, world)]
    for run_id in runs:
        work_out_proposals(desk, run_id)
    wanted = [(run_id, [row.id for row in rows_of(desk, run_id)]) for run_id in runs]
    both = Barrier(2)

    def book(run_id: int, ids: list[int]) -> str:
        both.wait()
        try:
            with desk.doing(world.office) as deed:
                book_proposals(deed, run_id, ids)
        except Refused as no:
            return str(no)
        return "booked"

    with ThreadPoolExecutor(2) as pool:
        told = sorted(pool.map(lambda pair: book(*pair), wanted))
    assert told[1] == "booked" and "a visit is booked there already" in told[0]
    with desk.database.reading() as session:
        assert len(list_visits(session, state=VisitState.BOOKED.value)) == 2


def test_a_place_by_hand_may_conflict_but_not_book_twice(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        set_working_times(deed, world.owner.id, WorkingTimes(USUAL_WEEK))
    run_id = ask(desk, world)
    work_out_proposals(desk, run_id)
    one, other = rows_of(desk, run_id)
    sunday = MONDAY + timedelta(days=6)
    with desk.doing(world.office) as deed:
        place_by_hand(
            deed, run_id, one.id, Placing(world.technician.id, world.instrument_id, sunday, time(9)), one.version
        )
        beside = next(row for row in get_proposal_run(deed.session, run_id).proposals if row.id == other.id)
        assert beside.reasons[-1] == f"Worked out while {beside.run.proposals[0].premises.name} was on this day too."
        place_by_hand(deed, run_id, other.id, Placing(world.owner.id, world.instrument_id, sunday, time(14)))
    with pytest.raises(Refused, match="somebody else has changed|Somebody else"), desk.doing(world.office) as deed:
        place_by_hand(deed, run_id, one.id, Placing(world.owner.id, world.instrument_id, sunday, time(9)), one.version)
    with pytest.raises(Mistakes, match="after today"), desk.doing(world.office) as deed:
        place_by_hand(deed, run_id, one.id, Placing(world.owner.id, world.instrument_id, deed.today, time(9)))
    with pytest.raises(Refused, match="instrument is with somebody else"), desk.doing(world.office) as deed:
        book_proposals(deed, run_id, [one.id, other.id])
    with desk.doing(world.office) as deed:  # a Sunday is a conflict, and theirs to decide
        (visit,) = book_proposals(deed, run_id, [one.id])
        assert (visit.booked_on, visit.technician_id) == (sunday, world.technician.id)


def test_asking_again_goes_by_the_facts_of_now_and_keeps_what_is_booked(desk: Desk, world: World, clock: Clock) -> None:
    run_id = ask(desk, world)
    work_out_proposals(desk, run_id)
    one, other = rows_of(desk, run_id)
    with desk.doing(world.office) as deed:
        book_proposals(deed, run_id, [one.id])
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).next_due_on = None
        ask_again_for_proposals(deed, run_id)
    work_out_proposals(desk, run_id)
    after = {row.id: row for row in rows_of(desk, run_id)}
    assert (after[one.id].visit_id is not None, after[one.id].day) == (True, one.day)
    assert (after[other.id].day, after[other.id].reasons) == (None, [NOTHING_DUE])
    clock.pass_time(days=10)
    with pytest.raises(Refused, match="has passed"), desk.doing(world.office) as deed:
        ask_again_for_proposals(deed, run_id)


def test_what_cannot_be_is_told_beside_its_field(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        with pytest.raises(Mistakes) as wrong:
            ask_for_proposals(deed, [], deed.today, 40, 30)
        assert set(wrong.value.messages) == {"premises", "begins_on", "weeks"}
        with pytest.raises(Mistakes, match="other premises"):
            set_travel_time(deed, world.premises_id, world.premises_id, 10)
        with pytest.raises(Mistakes) as wrong:
            set_booking_rules(deed, BookingRules(week=(None,) * 7, free_percent=90))
        assert set(wrong.value.messages) == {"free_percent", "day-0"}


def test_what_was_placed_by_hand_stays_where_it_was_put(desk: Desk, world: World) -> None:
    run_id = ask(desk, world)
    work_out_proposals(desk, run_id)
    one, other = rows_of(desk, run_id)
    # The whole of the day on which both fall due is taken by hand: the other goes elsewhere.
    with desk.doing(world.office) as deed:
        place = Placing(world.technician.id, world.instrument_id, MONDAY + timedelta(days=2), time(9))
        place_by_hand(deed, run_id, one.id, place)
        get_proposal_run(deed.session, run_id).proposals[0].minutes = 7 * 60
        ask_again_for_proposals(deed, run_id)
    work_out_proposals(desk, run_id)
    after = {row.id: row for row in rows_of(desk, run_id)}
    assert (after[one.id].day, after[one.id].starts_at) == (MONDAY + timedelta(days=2), time(9))
    assert after[other.id].day not in (None, MONDAY + timedelta(days=2))
