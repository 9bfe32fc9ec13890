"""Booking, starting, finishing and cancelling a visit, and what is refused."""

from datetime import timedelta

import pytest

from app.actions import instruments, items, people, visits
from app.actions.deeds import Desk
from app.actions.readings import leave_item
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.people import PersonDetails, Role
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking, NotTested, VisitState
from app.store.journal import list_journal
from app.store.readings import count_progress, list_visit_items
from app.store.visits import get_visit, list_visits
from tests.cast import PASSWORD, Clock, World


def test_starting_puts_every_item_on_the_list(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        items.withdraw_item(deed, world.item_ids[2], "Thrown away")
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        listed = [row.item_id for row in list_visit_items(deed.session, world.visit_id)]
    assert listed == world.item_ids[:2]


def test_a_visit_does_not_start_before_its_day(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today + timedelta(days=1))
        later = visits.book_visit(deed, booking).id
    with pytest.raises(Refused, match="booked for 5 March 2026"), desk.doing(world.technician) as deed:
        visits.start_visit(deed, later)


def test_the_last_day_of_a_calibration_counts(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.office) as deed:
        new = instruments.add_instrument(deed, InstrumentDetails("New tester", "N-1")).id
        dates = CalibrationDetails(clock.today - timedelta(days=364), clock.today, "K-1")
        instruments.add_calibration(deed, new, dates)
        assert visits.book_visit(deed, Booking(world.premises_id, world.technician.id, new, clock.today)).id


def test_nobody_is_booked_who_has_left(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.owner) as deed:
        gone = PersonDetails("Old Hand", "old@tarn-alder.example", Role.TECHNICIAN, "OH")
        left = people.add_person(deed, gone, PASSWORD)
        people.change_person(deed, left.id, PersonDetails("Old Hand", "old@tarn-alder.example", left.role, "OH", False))
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        visits.book_visit(deed, Booking(world.premises_id, left.id, world.instrument_id, clock.today))
    assert "no longer works here" in wrong.value.messages["technician_id"]


def test_a_visit_with_open_items_is_not_finished(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        leave_item(deed, world.visit_id, world.item_ids[0], NotTested.NOT_FOUND)
    still = "2 of 3 items are still open: 2 not yet looked at"
    with pytest.raises(Refused, match=still), desk.doing(world.technician) as deed:
        visits.finish_visit(deed, world.visit_id)
    with desk.reading_only() as session:
        assert get_visit(session, world.visit_id).state == VisitState.UNDER_WAY


def test_a_visit_finishes_when_every_item_is_settled(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        for item_id in world.item_ids:
            leave_item(deed, world.visit_id, item_id, NotTested.REFUSED)
        visits.finish_visit(deed, world.visit_id)
    with desk.reading_only() as session:
        row = get_visit(session, world.visit_id)
        assert (row.state, row.finished_on) == (VisitState.FINISHED.value, clock.today)
        assert count_progress(session, world.visit_id).not_tested == 3
        assert "3 not tested" in list_journal(session, "visit", world.visit_id)[0].sentence
    with pytest.raises(Refused, match="is finished"), desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)


def test_cancelling_needs_a_reason_and_nothing_tested(desk: Desk, world: World) -> None:
    with pytest.raises(Mistakes), desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "  ")
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        leave_item(deed, world.visit_id, world.item_ids[0], NotTested.NOT_FOUND)
    with pytest.raises(Refused, match="have been tested"), desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "Ill")
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.other_visit_id, "The customer was closed")
        assert list_visits(deed.session, state="cancelled")[0].state_reason == "The customer was closed"


def test_an_item_of_other_premises_is_not_added(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    with pytest.raises(Refused, match="belongs to"), desk.doing(world.technician) as deed:
        visits.add_to_visit(deed, world.visit_id, world.other_item_ids[0])


def test_a_stale_form_overwrites_nothing(desk: Desk, world: World, clock: Clock) -> None:
    booking = Booking(world.premises_id, world.owner.id, world.instrument_id, clock.today, note="First")
    with desk.doing(world.office) as deed:
        visits.change_booking(deed, world.visit_id, booking, version=1)
    with pytest.raises(Refused, match="Somebody else"), desk.doing(world.owner) as deed:
        visits.change_booking(deed, world.visit_id, booking, version=1)
