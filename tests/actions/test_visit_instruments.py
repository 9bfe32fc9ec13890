"""An instrument that is not fit starts and records nothing unless the owner allows it; the certificate says so."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.actions import instruments, visits
from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.actions.visit_instruments import allow_instrument, change_instrument, withdraw_allowance
from app.rules.certificates import CertificateFacts
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.instruments import AsFound, CalibrationDetails, InstrumentDetails
from app.rules.people import Person
from app.rules.quantities import Reading, Unit
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.rules.visits import Booking, NotTested
from app.store.certificates import get_certificate
from app.store.journal import list_journal
from app.store.paper_facts import facts_for_certificate
from app.store.readings import get_visit_item
from app.store.reference_checks import facts_of_standing
from app.store.visits import get_visit
from app.web.visit_instruments import show_expiry, show_fitness_of
from tests.cast import Clock, World

GOOD = [
    Entry(Check.VISUAL, outcome=Outcome.PASS),
    Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(99), Unit.MEGOHM)),
]


def test_a_correction_of_words_needs_no_fit_instrument(desk: Desk, world: World, clock: Clock) -> None:
    start(desk, world)
    record(desk, world)
    with desk.doing(world.technician) as deed:
        for place in (0, 2):
            leave_item(deed, world.visit_id, world.item_ids[place], NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    with desk.doing(world.office) as deed:
        bad = CalibrationDetails(deed.today, deed.today + timedelta(days=365), "K-BAD", passed=False)
        instruments.add_calibration(deed, world.instrument_id, bad)
        visits.reopen_visit(deed, world.visit_id, "The note is missing")
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[1], GOOD, note="Behind the bar")
        other = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(98), Unit.MEGOHM))
        with pytest.raises(Refused, match="failed its calibration"):
            record_item(deed, world.visit_id, world.item_ids[1], [GOOD[0], other])


def test_at_the_door_another_instrument_can_be_taken(desk: Desk, world: World) -> None:
    good = spare(desk, world, good=True)
    with desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, good)
        assert list_journal(deed.session, "visit", world.visit_id)[0].sentence.startswith("To be measured with Spare")
    with desk.doing(world.office) as deed:
        day = deed.today + timedelta(days=7)
        later = visits.book_visit(deed, Booking(world.premises_id, world.technician.id, world.instrument_id, day)).id
    with pytest.raises(Refused, match="Change the booking"), desk.doing(world.technician) as deed:
        change_instrument(deed, later, good)  # it may be in another hand that day


def test_what_runs_out_before_the_last_day_can_be_allowed_beforehand(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.office) as deed:
        held = CalibrationDetails(deed.today, deed.today + timedelta(days=2), "K-7")
        instruments.add_calibration(deed, world.instrument_id, held)
        row = visits.book_visit(
            deed,
            Booking(
                world.premises_id, world.technician.id, world.instrument_id, deed.today, minutes=2000, days_asked=4
            ),
        )
        fitness = show_fitness_of(deed.session, row, world.owner, deed.today)
        assert (fitness.worries, fitness.refusal, fitness.may_allow) == ((), "", True)
        assert len(fitness.later) == 1 and "holds until" in fitness.later[0]
        assert (
            show_expiry(row, facts_of_standing(deed.session, row.instrument))[0]
            == (deed.today + timedelta(days=2)).isoformat()
        )
        visit_id = row.id
    with desk.doing(world.owner) as deed:
        allow_instrument(deed, visit_id, "It is back from the laboratory on the last day")
        row = get_visit(deed.session, visit_id)
        assert not show_fitness_of(deed.session, row, world.owner, deed.today).may_allow
        assert show_expiry(row, facts_of_standing(deed.session, row.instrument)) == ("", "")


def record(desk: Desk, world: World, place: int = 1) -> None:
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[place], GOOD)


def start(desk: Desk, world: World, person: Person | None = None, reason: str = "") -> None:
    with desk.doing(person or world.technician) as deed:
        visits.start_visit(deed, world.visit_id, reason)


def spare(desk: Desk, world: World, good: bool = False) -> int:
    with desk.doing(world.office) as deed:
        row = instruments.add_instrument(deed, InstrumentDetails("Spare", "S-1"))
        if good:
            held = CalibrationDetails(deed.today - timedelta(days=5), deed.today + timedelta(days=360), "K-9")
            instruments.add_calibration(deed, row.id, held)
        return row.id


def test_an_instrument_that_is_not_fit_can_be_booked_but_not_started(desk: Desk, world: World, clock: Clock) -> None:
    new = spare(desk, world)
    with desk.doing(world.office) as deed:
        row = visits.book_visit(deed, Booking(world.premises_id, world.technician.id, new, clock.today))
    for person in (world.technician, world.office, world.owner):
        with pytest.raises(Refused, match="no calibration on record. Only the owner"), desk.doing(person) as deed:
            visits.start_visit(deed, row.id)
    for person in (world.technician, world.office):
        with pytest.raises(Refused, match="Only the owner"), desk.doing(person) as deed:
            visits.start_visit(deed, row.id, "It was right last week")
        with pytest.raises(Refused, match="Only the owner"), desk.doing(person) as deed:
            allow_instrument(deed, row.id, "It was right last week")
    with desk.doing(world.owner) as deed:
        visits.start_visit(deed, row.id, "It was right last week")
        assert "It was right last week" in list_journal(deed.session, "visit", row.id)[1].sentence


def test_the_owner_gives_the_reason_in_the_booking(desk: Desk, world: World, clock: Clock) -> None:
    booking = Booking(world.premises_id, world.technician.id, spare(desk, world), clock.today)
    with pytest.raises(Refused, match="Only the owner"), desk.doing(world.office) as deed:
        visits.book_visit(deed, booking, "I say so")
    with desk.doing(world.owner) as deed:
        visit_id = visits.book_visit(deed, booking, "Comes back this morning").id
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, visit_id)


def test_an_allowance_needs_a_reason_and_a_cause(desk: Desk, world: World, clock: Clock) -> None:
    with pytest.raises(Refused, match="nothing to allow"), desk.doing(world.owner) as deed:
        allow_instrument(deed, world.visit_id, "To be sure")
    clock.pass_time(days=300)
    with pytest.raises(Mistakes) as wrong, desk.doing(world.owner) as deed:
        allow_instrument(deed, world.visit_id, "  ")
    assert list(wrong.value.messages) == ["allow_reason"]


def test_recording_stops_when_the_calibration_ends_under_way(desk: Desk, world: World, clock: Clock) -> None:
    start(desk, world)
    record(desk, world)
    clock.pass_time(days=265)
    record(desk, world)
    clock.pass_time(days=1)
    with pytest.raises(Refused, match="holds until 24 November 2026 only"):
        record(desk, world)
    with desk.reading_only() as session:
        kept = get_visit_item(session, world.visit_id, world.item_ids[1])
        assert kept.tested_on == clock.today - timedelta(days=1), "nothing of the refused saving is kept"
    with desk.doing(world.technician) as deed:
        leave_item(deed, world.visit_id, world.item_ids[2], NotTested.NOT_FOUND)
    with desk.doing(world.owner) as deed:
        allow_instrument(deed, world.visit_id, "The customer closes tomorrow")
    record(desk, world)


def test_an_allowance_does_not_cover_what_fails_later(desk: Desk, world: World, clock: Clock) -> None:
    clock.pass_time(days=300)
    start(desk, world, world.owner, "The laboratory is late")
    record(desk, world)
    with desk.doing(world.office) as deed:
        failed = CalibrationDetails(clock.today, clock.today + timedelta(days=365), "BAD", passed=False)
        instruments.add_calibration(deed, world.instrument_id, failed)
    with pytest.raises(Refused, match="failed its calibration"):
        record(desk, world)


def test_another_instrument_under_way(desk: Desk, world: World, clock: Clock) -> None:
    good, bad = spare(desk, world, good=True), None
    start(desk, world)
    record(desk, world)
    with desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, good)
    record(desk, world)  # saved again as it was: still measured with the first
    record(desk, world, 2)
    with desk.reading_only() as session:
        measured = [
            {reading.instrument_id for reading in get_visit_item(session, world.visit_id, item_id).readings}
            for item_id in world.item_ids[1:]
        ]
    assert measured == [{None, world.instrument_id}, {None, good}]
    with desk.doing(world.office) as deed:
        bad = instruments.add_instrument(deed, InstrumentDetails("Old one", "O-1")).id
    with desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, bad)
    with pytest.raises(Refused, match="Old one has no calibration"):
        record(desk, world)
    with pytest.raises(Mistakes), desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, bad)
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.other_visit_id, "They moved")
    with pytest.raises(Refused, match="The visit is over"), desk.doing(world.technician) as deed:
        change_instrument(deed, world.other_visit_id, good)


def test_the_certificate_prints_what_was_allowed_and_each_instrument(desk: Desk, world: World, clock: Clock) -> None:
    """ISO/IEC 17025:2017 7.8.2.1 n asks for deviations, and g and 7.5.1 that results can be traced to what measured."""
    good = spare(desk, world, good=True)
    clock.pass_time(days=300)
    start(desk, world, world.owner, "The laboratory is late")
    record(desk, world)
    with desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, good)
        record_item(deed, world.visit_id, world.item_ids[2], GOOD[:1])
        leave_item(deed, world.visit_id, world.item_ids[2], NotTested.IN_USE)
        record_item(
            deed,
            world.visit_id,
            world.item_ids[0],
            [GOOD[0], Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal("0.11"), Unit.OHM)), GOOD[1]],
        )
        leave_item(deed, world.visit_id, world.item_ids[0], NotTested.IN_USE)
        visits.finish_visit(deed, world.visit_id)
    certificate_id = issue_certificate(desk, world.owner, world.visit_id)
    with desk.reading_only() as session:
        data = get_certificate(session, certificate_id).data
        assert get_visit(session, world.visit_id).allowances[0].by == "Ines Tarn"
    assert data["deviations"][0] == (
        "The calibration of Blue tester holds until 24 November 2026 only. Ines Tarn (owner) allowed its use on "
        "29 December 2026. Reason: The laboratory is late"
    )
    assert [each["serial"] for each in data["instruments"]] == ["T-4471", "S-1"]


def finish_and_issue(desk: Desk, world: World) -> dict[str, Any]:
    """Leave what is open, finish the visit, and give what its certificate says."""
    with desk.doing(world.technician) as deed:
        for item_id in world.item_ids:
            if not get_visit_item(deed.session, world.visit_id, item_id).done:
                leave_item(deed, world.visit_id, item_id, NotTested.IN_USE)
        visits.finish_visit(deed, world.visit_id)
    certificate_id = issue_certificate(desk, world.owner, world.visit_id)
    with desk.reading_only() as session:
        return dict(get_certificate(session, certificate_id).data)


def test_an_allowance_under_which_nothing_was_measured_is_no_deviation(desk: Desk, world: World, clock: Clock) -> None:
    """Nor is one that the owner withdrew; recording is refused again after that."""
    good = spare(desk, world, good=True)
    with desk.doing(world.office) as deed:
        bad = instruments.add_instrument(deed, InstrumentDetails("Old one", "O-1")).id
    start(desk, world)
    for other in (bad, good):
        with desk.doing(world.technician) as deed:
            change_instrument(deed, world.visit_id, other)
        if other == bad:
            with desk.doing(world.owner) as deed:
                allow_instrument(deed, world.visit_id, "It was right last week")
    record(desk, world)
    with desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, bad)
    for person, place in ((world.office, 0), (world.owner, 1), (world.owner, -1)):
        with pytest.raises(Refused), desk.doing(person) as deed:
            withdraw_allowance(deed, world.visit_id, place)
    with desk.doing(world.owner) as deed:
        withdraw_allowance(deed, world.visit_id, 0)
        assert "Withdrew the allowance for Old one" in list_journal(deed.session, "visit", world.visit_id)[0].sentence
    with pytest.raises(Refused, match="already"), desk.doing(world.owner) as deed:
        withdraw_allowance(deed, world.visit_id, 0)
    with pytest.raises(Refused, match="Old one has no calibration"):
        record(desk, world, 2)
    data = finish_and_issue(desk, world)
    assert not any("Old one" in each for each in data["deviations"])
    assert [each["serial"] for each in data["instruments"]] == ["S-1"]
    with pytest.raises(Refused, match="The visit is over"), desk.doing(world.owner) as deed:
        withdraw_allowance(deed, world.visit_id, 0)


def test_what_was_measured_before_it_was_withdrawn_is_printed_with_it(desk: Desk, world: World, clock: Clock) -> None:
    """A paper on one item says what was allowed for the instrument that measured that item, and nothing of others."""
    good = spare(desk, world, good=True)
    clock.pass_time(days=300)
    start(desk, world, world.owner, "The laboratory is late")
    record(desk, world)
    clock.pass_time(minutes=5)
    with desk.doing(world.owner) as deed:
        withdraw_allowance(deed, world.visit_id, 0)
    with desk.doing(world.technician) as deed:
        change_instrument(deed, world.visit_id, good)
    record(desk, world, 2)
    withdrawn = "Reason: The laboratory is late. Withdrawn on 29 December 2026 by Ines Tarn."
    assert printed(desk, world)[0].endswith(withdrawn)
    assert printed(desk, world, world.item_ids[1])[0].endswith(withdrawn)
    assert printed(desk, world, world.item_ids[2]) == ()


def printed(desk: Desk, world: World, item_id: int | None = None) -> tuple[str, ...]:
    """What the certificate says of instruments that were not fit."""
    with desk.reading_only() as session:
        facts = facts_of(desk, session, world, item_id)
        return tuple(each for each in facts.deviations if "tester" in each)


def facts_of(desk: Desk, session: Session, world: World, item_id: int | None = None) -> CertificateFacts:
    return facts_for_certificate(
        session, world.visit_id, number="C-1", code="x", address="", by=world.owner, now=desk.now, today=desk.today,
        item_id=item_id,
    )  # fmt: skip


def test_a_certificate_rests_on_the_last_good_calibration(desk: Desk, world: World, clock: Clock) -> None:
    """One that the instrument failed is no calibration to rest on: it is named as what it is."""
    start(desk, world)
    record(desk, world)
    until = clock.today + timedelta(days=365)
    with desk.doing(world.office) as deed:
        failed = CalibrationDetails(clock.today, until, "BC-26-FAIL", passed=False, as_found=AsFound.OUTSIDE)
        instruments.add_calibration(deed, world.instrument_id, failed)
    told = "Blue tester failed its calibration of 4 March 2026, certificate BC-26-FAIL."
    with desk.reading_only() as session:
        [instrument] = facts_of(desk, session, world).instruments
        assert (instrument.calibration_certificate, instrument.calibrated_by) == ("CAL-26-0193", "Beck Calibration")
    assert printed(desk, world) == (told,)
    with desk.doing(world.owner) as deed:
        allow_instrument(deed, world.visit_id, "Only the note is corrected")
    assert [each.split(". ")[0] for each in printed(desk, world)] == [
        "Blue tester failed its calibration of 4 March 2026"
    ], "said once, by the allowance"
    with desk.doing(world.office) as deed:
        mended = CalibrationDetails(clock.today, until, "BC-26-LEFT")
        instruments.add_calibration(deed, world.instrument_id, mended)
    with desk.reading_only() as session:
        [instrument] = facts_of(desk, session, world).instruments
        assert instrument.calibration_certificate == "BC-26-LEFT", "of one day the one entered last is the newest"


def test_an_allowance_that_a_calibration_overtook_is_no_deviation(desk: Desk, world: World, clock: Clock) -> None:
    clock.pass_time(days=300)
    with desk.doing(world.owner) as deed:
        allow_instrument(deed, world.visit_id, "It comes back this week")
    clock.pass_time(days=3)
    with desk.doing(world.office) as deed:
        back = CalibrationDetails(clock.today - timedelta(days=1), clock.today + timedelta(days=360), "K-10")
        instruments.add_calibration(deed, world.instrument_id, back)
    start(desk, world)
    record(desk, world)
    assert printed(desk, world) == ()
