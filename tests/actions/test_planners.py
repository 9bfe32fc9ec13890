"""Booking, moving and pooling on both databases: nothing is held twice, whoever comes at the same moment."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, time, timedelta
from threading import Barrier

import pytest

from app.actions import instruments, people, planners, visits
from app.actions.deeds import Desk
from app.actions.planners import Place
from app.actions.working_times import give_day_off
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.people import PersonDetails, Role
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.rules.working_times import DayOff
from app.store.journal import list_journal
from app.store.visits import get_visit, list_held, list_visits
from app.store.wanted_visits import get_wanted_visit, list_wanted_visits
from tests.cast import PASSWORD, Clock, World

AT_NINE = time(9)


@pytest.fixture
def day(desk: Desk) -> date:
    return desk.today + timedelta(days=6)  # a Tuesday


def second_technician(desk: Desk, world: World) -> tuple[int, int]:
    """Another technician and another instrument, in calibration."""
    with desk.doing(world.owner) as deed:
        wren = PersonDetails("Wren Castell", "wren@tarn-alder.example", Role.TECHNICIAN, "WC")
        person = people.add_person(deed, wren, PASSWORD)
        tester = instruments.add_instrument(deed, InstrumentDetails("Red tester", "T-9")).id
        calibration = CalibrationDetails(desk.today, desk.today + timedelta(days=300), "C-9", "Beck Calibration")
        instruments.add_calibration(deed, tester, calibration)
    return person.id, tester


def booked(desk: Desk, world: World, day: date, at: time | None = AT_NINE, minutes: int | None = 90) -> int:
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, day, at, minutes=minutes)
        return visits.book_visit(deed, booking).id


def test_a_double_booking_is_refused_with_its_cause_and_nothing_is_written(desk: Desk, world: World, day: date) -> None:
    first = booked(desk, world, day)
    wren, red = second_technician(desk, world)
    with desk.doing(world.office) as deed:
        lines = len(list_journal(deed.session))
    for technician, instrument, fields in (
        (world.technician.id, red, {"technician_id"}),
        (wren, world.instrument_id, {"instrument_id"}),
        (world.technician.id, world.instrument_id, {"technician_id", "instrument_id"}),
    ):
        booking = Booking(world.other_premises_id, technician, instrument, day, time(10, 29), minutes=30)
        with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
            visits.book_visit(deed, booking)
        assert set(wrong.value.messages) == fields | {"booked_time"}
        assert "09:00 to 10:30 at Brackenhow Primary School main site" in str(wrong.value.messages)
        # 08:30 leaves half an hour before the other one.
        assert wrong.value.messages["booked_time"] == "Both are free from 08:30."
    with desk.doing(world.office) as deed:
        assert len(list_journal(deed.session)) == lines
        both = (world.technician.id, world.instrument_id)
        after = Booking(world.other_premises_id, *both, day, time(10, 30), minutes=30)
        second = visits.book_visit(deed, after).id
        with pytest.raises(Mistakes):
            visits.change_booking(deed, second, replace(after, booked_time=time(10, 29)))
        visits.cancel_visit(deed, first, "Moved house")  # a cancelled visit holds nobody
        visits.change_booking(deed, second, replace(after, booked_time=AT_NINE))


def test_two_people_at_one_moment_get_one_booking(desk: Desk, world: World, day: date) -> None:
    wren, red = second_technician(desk, world)
    wishes = [
        Booking(world.premises_id, world.technician.id, world.instrument_id, day, AT_NINE, minutes=60),
        Booking(world.other_premises_id, world.technician.id, red, day, time(9, 30), minutes=60),
        Booking(world.premises_id, wren, world.instrument_id, day, time(9, 45), minutes=60),
        Booking(world.other_premises_id, world.technician.id, world.instrument_id, day, time(9, 15), minutes=60),
        # 15 hours from the day before: the second day reaches from 8:30 to 15:00.
        Booking(world.premises_id, world.technician.id, world.instrument_id, day - timedelta(days=1), minutes=900),
    ] * 2
    together = Barrier(len(wishes))

    def book(wish: Booking) -> str:
        together.wait(10)
        try:
            with desk.doing(world.office) as deed:
                visits.book_visit(deed, wish)
        except Mistakes:
            return "refused"
        return "booked"

    with ThreadPoolExecutor(len(wishes)) as pool:
        answers = list(pool.map(book, wishes))
    with desk.reading_only() as session:
        kept = list_held(session, day)[day]
    assert answers.count("booked") == len(kept) in (1, 2)
    for one in kept:
        for other in kept:
            if one.visit_id < other.visit_id:
                assert one.technician_id != other.technician_id and one.instrument_id != other.instrument_id


def test_a_move_keeps_time_length_and_instrument_and_counts_as_a_change(desk: Desk, world: World, day: date) -> None:
    visit_id = booked(desk, world, day, minutes=None)
    wren, _ = second_technician(desk, world)
    with desk.doing(world.office) as deed:
        before = get_visit(deed.session, visit_id)
        assert before.minutes == 15 + 5 + 5 + 4 + 1 and not before.minutes_by_hand  # 29 minutes, to the next five
        version, uid = before.version, before.uid
        row = planners.move_visit(deed, visit_id, Place(day + timedelta(days=1), wren), version)
        assert (row.booked_time, row.minutes, row.instrument_id) == (AT_NINE, 30, world.instrument_id)
        assert row.uid == uid and row.version > version and row.booking_changed_at == deed.now
        with pytest.raises(Refused):  # somebody else was quicker
            planners.move_visit(deed, visit_id, Place(day, wren), version)


def test_the_pool_is_booked_at_the_first_free_time_and_taken_back(desk: Desk, world: World, day: date) -> None:
    booked(desk, world, day, time(8, 30), 60)
    with desk.doing(world.office) as deed:
        wanted = planners.want_visit(deed, world.other_premises_id, day, 45, "Ask for the caretaker")
        row = planners.book_from_pool(deed, world.other_premises_id, Place(day, world.technician.id), wanted.id)
        assert (row.booked_time, row.minutes, row.note) == (time(9, 30), 45, "Ask for the caretaker")
        assert not list_wanted_visits(deed.session, day)
        with pytest.raises(Refused):
            planners.book_from_pool(deed, world.other_premises_id, Place(day, world.technician.id), wanted.id)
        again = planners.unbook_visit(deed, row.id)
        assert again.id == wanted.id and get_visit(deed.session, row.id).state == "cancelled"
        planners.drop_wanted_visit(deed, wanted.id, "They moved out")
        assert get_wanted_visit(deed.session, wanted.id).state == "dropped"


def test_an_instrument_that_is_not_fit_is_not_chosen(desk: Desk, world: World, clock: Clock) -> None:
    far = desk.today + timedelta(days=400)  # the calibration ends before
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        planners.book_from_pool(deed, world.premises_id, Place(far, world.technician.id))
    assert "No instrument is fit" in wrong.value.messages["instrument_id"]


def test_a_long_visit_holds_both_on_every_working_day(desk: Desk, world: World) -> None:
    """40 hours from Thursday 2 April 2026, 8:30 to 17:00 a day. Good Friday and Easter Monday are bank holidays in
    England and Wales (Banking and Financial Dealings Act 1971, Schedule 1; Good Friday by common law); one day is off.
    """
    first = date(2026, 4, 2)
    wren, red = second_technician(desk, world)
    with desk.doing(world.owner) as deed:
        give_day_off(deed, DayOff(world.technician.id, date(2026, 4, 8), date(2026, 4, 8), "course"))
    visit_id = booked(desk, world, first, at=None, minutes=40 * 60)
    days = [first, date(2026, 4, 7), *(date(2026, 4, day) for day in (9, 10, 13))]
    with desk.doing(world.office) as deed:
        row = get_visit(deed.session, visit_id)
        assert [(each.day, each.start, each.minutes) for each in row.held] == [
            *((day, 510, 510) for day in days[:4]), (days[4], 510, 360)
        ]  # fmt: skip
        assert (row.last_on, row.minutes, row.booked_time) == (days[4], 2400, time(8, 30))
        kept = list_held(deed.session, first, first + timedelta(days=30))
        assert [day for day, held in kept.items() if any(each.visit_id == visit_id for each in held)] == days
        assert [row.id for row in list_visits(deed.session, day=days[2])] == [visit_id]
        assert "for 2 April 2026 to 13 April 2026, 5 days." in list_journal(deed.session)[0].sentence
    # Nobody takes either on any of these days, and what is left of the last is free.
    for technician, instrument, field in ((world.technician.id, red, "technician_id"), (wren, world.instrument_id,
                                                                                        "instrument_id")):  # fmt: skip
        other = Booking(world.other_premises_id, technician, instrument, days[2], time(16, 55), minutes=30)
        with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
            visits.book_visit(deed, other)
        assert field in wrong.value.messages and "08:30 to 17:00" in wrong.value.messages[field]
        with desk.doing(world.office) as deed:
            visits.book_visit(deed, replace(other, booked_on=days[4], booked_time=time(14, 30 + (field > "j"))))
    # It cannot begin a day earlier or later either, where a day of it would meet the two on its last day.
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        planners.move_visit(deed, visit_id, Place(days[1], world.technician.id))
    assert set(wrong.value.messages) == {"technician_id", "instrument_id"}
    assert "On 13 April 2026: " in wrong.value.messages["instrument_id"]
    with desk.doing(world.office) as deed:
        row = planners.move_visit(deed, visit_id, Place(date(2026, 3, 26), world.technician.id))
        assert [each.day.day for each in row.held] == [26, 27, 30, 31, 1] and row.last_on == date(2026, 4, 1)
        row = planners.move_visit(deed, visit_id, Place(date(2026, 3, 26), world.technician.id, days=8))
        assert [each.minutes for each in row.held] == [300] * 8 and row.last_on == date(2026, 4, 9)
        row = planners.move_visit(deed, visit_id, Place(date(2026, 3, 26), world.technician.id, minutes=60, days=1))
        assert (row.last_on, row.held_days, len(row.held)) == (None, None, 1)


def test_the_pool_gives_a_long_visit_an_instrument_that_is_free_on_all_its_days(desk: Desk, world: World) -> None:
    first = date(2026, 3, 9)
    wren, red = second_technician(desk, world)
    with desk.doing(world.office) as deed:
        last_day = Booking(world.other_premises_id, wren, world.instrument_id, date(2026, 3, 11), AT_NINE, minutes=60)
        visits.book_visit(deed, last_day)
        row = planners.book_from_pool(deed, world.premises_id, Place(first, world.technician.id, minutes=1300))
        assert row.instrument_id == red and [each.minutes for each in row.held] == [510, 510, 280]
        wanted = planners.unbook_visit(deed, row.id)
        again = planners.book_from_pool(deed, world.premises_id, Place(first, world.technician.id), wanted.id)
        assert again.held == row.held
