"""The facts of a question of bookings on both databases: what is typed, what is assumed, what is booked."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from app.actions.deeds import Desk
from app.actions.visits import book_visit
from app.actions.working_times import (
    forget_travel_time,
    give_day_off,
    set_access_times,
    set_booking_rules,
    set_travel_time,
    set_working_times,
    take_back_day_off,
)
from app.rules.bank_holidays import Region
from app.rules.equipment import Kind, Supply
from app.rules.items import ItemState
from app.rules.planners import Hours
from app.rules.proposals import Question, list_days
from app.rules.travel import BASE, Pace, Point
from app.rules.visits import Booking
from app.rules.working_times import USUAL_WEEK, AccessTimes, BookingRules, DayOff, Skill, WorkingTimes
from app.store.items import get_item
from app.store.people import get_person
from app.store.planners import facts_of_hours
from app.store.proposal_facts import facts_of_question
from app.store.working_times import list_days_off, list_travel_times
from tests.cast import World

MONDAY = date(2026, 3, 30)  # Good Friday is 3 April, Easter Monday 6 April


def asked(desk: Desk, world: World, weeks: int = 2) -> Question:
    with desk.database.reading() as session:
        places = [world.premises_id, world.other_premises_id]
        return facts_of_question(session, places, list_days(MONDAY, weeks), 30, desk.today)


def test_what_is_not_typed_is_assumed(desk: Desk, world: World) -> None:
    with desk.doing(None) as deed:
        for item_id in world.item_ids:
            get_item(deed.session, item_id).next_due_on = MONDAY + timedelta(days=3)
    question = asked(desk, world)
    (worker,) = question.workers  # the owner is not sent unless working times say so
    assert (worker.id, worker.week, worker.skills) == (world.technician.id, USUAL_WEEK, frozenset(Skill))
    assert set(worker.off) == {date(2026, 4, 3), date(2026, 4, 6)}
    (wish,) = question.wishes
    assert (wish.place_id, wish.minutes, wish.items, wish.due_on) == (world.premises_id, 30, 3, MONDAY + timedelta(3))
    assert wish.earliest == MONDAY + timedelta(days=3 - 30) and set(wish.closed) == set(worker.off)
    assert question.travel[BASE, world.premises_id] == 30
    (instrument,) = question.instruments
    assert instrument.fit == frozenset(question.days)


def test_what_is_typed_holds(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        here = Point(Decimal("54.48"), Decimal("-2.36"))
        set_booking_rules(deed, BookingRules(here, Pace(Decimal(1), 30, 25), Region.SCOTLAND, USUAL_WEEK, 20))
        week = ((480, 780), *USUAL_WEEK[1:])
        set_working_times(deed, world.owner.id, WorkingTimes(week, frozenset({Skill.MICROWAVE}), 12))
        give_day_off(deed, DayOff(world.owner.id, MONDAY, MONDAY, "course"))
        give_day_off(deed, DayOff(None, date(2026, 4, 9), date(2026, 4, 10), "closed"))
        there = replace(here, latitude=Decimal("54.58"))
        times = AccessTimes(((540, 720),) * 7, there, Region.NORTHERN_IRELAND)
        set_access_times(deed, world.premises_id, times)
        set_travel_time(deed, world.other_premises_id, world.premises_id, 12)
        set_travel_time(deed, world.other_premises_id, None, 41)
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).next_due_on = MONDAY
        get_item(deed.session, world.item_ids[0]).kind = Kind.MICROWAVE_OVEN.value
        get_item(deed.session, world.item_ids[1]).supply = Supply.THREE_PHASE_400.value
        get_item(deed.session, world.other_item_ids[0]).state = ItemState.OUT_OF_USE.value
        booking = Booking(world.other_premises_id, world.technician.id, world.instrument_id, MONDAY + timedelta(days=1))
        visit_id = book_visit(deed, booking).id
    question = asked(desk, world)
    owner = next(worker for worker in question.workers if worker.id == world.owner.id)
    assert owner.week[0] == (480, 780) and owner.skills == {Skill.MICROWAVE} and owner.week_minutes_most == 720
    # Easter Monday is no bank holiday in Scotland (Banking and Financial Dealings Act 1971, Schedule 1).
    assert set(owner.off) == {MONDAY, date(2026, 4, 3), date(2026, 4, 9), date(2026, 4, 10)}
    one, other = sorted(question.wishes, key=lambda wish: wish.place_id)
    assert one.skills == {Skill.MICROWAVE, Skill.THREE_PHASE} and other.skills == {Skill.AFTER_REPAIR}
    assert one.week[0] == (540, 720) and date(2026, 4, 6) in one.closed and date(2026, 4, 6) not in other.closed
    assert question.travel[world.premises_id, world.other_premises_id] == 15
    assert question.travel[BASE, world.other_premises_id] == 45
    assert question.travel[BASE, world.premises_id] == 15  # a tenth of a degree is 11.1 km, 6.9 miles, at 30 mph
    (fixed,) = question.fixed
    assert (fixed.visit_id, fixed.day, fixed.start, fixed.minutes) == (visit_id, MONDAY + timedelta(days=1), None, 30)
    assert question.free_percent == 20


def test_an_instrument_out_of_calibration_is_not_fit(desk: Desk, world: World) -> None:
    # make_world calibrates it until 265 days from 4 March 2026, 24 November.
    with desk.database.reading() as session:
        days = list_days(date(2026, 11, 23), 1)
        question = facts_of_question(session, [world.premises_id], days, 30, desk.today)
    (instrument,) = question.instruments
    assert instrument.fit == {date(2026, 11, 23), date(2026, 11, 24)}


def test_the_planner_goes_by_the_same_hours(desk: Desk, world: World) -> None:
    easter = date(2026, 4, 3)
    with desk.doing(world.office) as deed:
        set_working_times(deed, world.technician.id, WorkingTimes(((480, 780), *USUAL_WEEK[1:])))
        give_day_off(
            deed, DayOff(world.technician.id, MONDAY + timedelta(days=1), MONDAY + timedelta(days=1), "course")
        )
    with desk.database.reading() as session:
        people = [get_person(session, person.id) for person in (world.owner, world.technician)]
        hours = facts_of_hours(
            session, people, [MONDAY, MONDAY + timedelta(days=1), easter, MONDAY + timedelta(days=5)]
        )
    owner, technician = world.owner.id, world.technician.id
    assert hours[technician, MONDAY] == Hours((480, 780))
    assert hours[owner, MONDAY] == Hours((510, 1020))  # nothing typed: the firm's usual week
    assert hours[technician, MONDAY + timedelta(days=1)].closed == "course"
    assert hours[owner, easter].closed == hours[technician, easter].closed == "Good Friday"
    assert hours[technician, MONDAY + timedelta(days=5)] == Hours(None)


def test_what_was_typed_can_be_taken_back(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        day_off = give_day_off(deed, DayOff(world.technician.id, MONDAY, MONDAY))
        row = set_travel_time(deed, world.premises_id, None, 10)
        assert set_travel_time(deed, world.premises_id, None, 20).id == row.id
    with desk.doing(world.office) as deed:
        assert take_back_day_off(deed, day_off.id) == world.technician.id
        forget_travel_time(deed, world.premises_id, row.id)
    with desk.database.reading() as session:
        assert list_days_off(session, desk.today, world.technician.id) == []
        assert list_travel_times(session, world.premises_id) == []
