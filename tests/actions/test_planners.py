"""Booking, moving and pooling on both databases: nothing is held twice, whoever comes at the same moment."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, time, timedelta
from threading import Barrier

import pytest

from app.actions import instruments, people, planners, visits
from app.actions.deeds import Desk
from app.actions.planners import Place
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.people import PersonDetails, Role
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.journal import list_journal
from app.store.visits import get_visit, list_held
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
