"""Reference checks are judged and kept as they were judged; a failed one stops the instrument until a good proof."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from sqlalchemy.orm import Session

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.instruments import add_calibration
from app.actions.readings import record_item
from app.actions.reference_checks import (
    add_reference_item,
    change_reference_item,
    record_reference_checks,
    strike_out_check,
)
from app.rules.checks import Check
from app.rules.doubts import Proof, list_doubts
from app.rules.entries import Entry
from app.rules.instrument_standings import list_overdue_checks, list_worries
from app.rules.instruments import CalibrationDetails
from app.rules.quantities import Bound, Reading, Unit
from app.rules.reference_checks import ReferenceDetails
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.store.database import Missing
from app.store.instruments import get_instrument
from app.store.journal import list_journal
from app.store.reference_checks import facts_of_standing, list_proofs_of, list_reference_checks
from tests.cast import Clock, World

OHM = ReferenceDetails("1 Ω resistor", Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Decimal(1), Unit.OHM, Decimal(5))
MEGOHM = ReferenceDetails("1 MΩ resistor", Check.INSULATION_RESISTANCE, Decimal(1), Unit.MEGOHM, Decimal(10))


def known(desk: Desk, world: World, *details: ReferenceDetails) -> list[int]:
    with desk.doing(world.office) as deed:
        return [add_reference_item(deed, world.instrument_id, each).id for each in details or (OHM,)]


def check(desk: Desk, world: World, reference_id: int, ohms: str, note: str = "") -> bool:
    with desk.doing(world.technician) as deed:
        shown = {reference_id: Reading(Decimal(ohms), Unit.OHM)}
        return record_reference_checks(deed, world.instrument_id, shown, note)[0].passed


def worries(desk: Desk, world: World) -> tuple[str, ...]:
    with desk.reading_only() as session:
        return list_worries(facts_of_standing(session, get_instrument(session, world.instrument_id)), desk.today)


def test_a_check_keeps_who_when_and_by_what_it_was_judged(desk: Desk, world: World, clock: Clock) -> None:
    (item,) = known(desk, world)
    assert check(desk, world, item, "1.04")
    with desk.doing(world.office) as deed:
        tighter = ReferenceDetails(**(vars(OHM) | {"tolerance": Decimal(1)}))
        change_reference_item(deed, world.instrument_id, item, tighter)
    with desk.reading_only() as session:
        (row,) = list_reference_checks(session, item)
        assert (row.person_name, row.checked_on, row.checked_at) == ("Joss Alder", clock.today, clock.now)
        assert (row.low, row.high, row.margin, row.passed) == (Decimal("0.95"), Decimal("1.05"), Decimal("0.01"), True)
        assert row.working == "1 Ω ± 5 % = 0.95 Ω to 1.05 Ω"
    assert not check(desk, world, item, "1.04"), "the next one is judged by the tighter band"


def test_nothing_is_kept_when_one_of_several_cannot_be_judged(desk: Desk, world: World) -> None:
    ohm, megohm = known(desk, world, OHM, MEGOHM)
    shown = {ohm: Reading(Decimal(1), Unit.OHM), megohm: Reading(Decimal("0.2"), Unit.MEGOHM, Bound.ABOVE)}
    with pytest.raises(Mistakes) as wrong, desk.doing(world.technician) as deed:
        record_reference_checks(deed, world.instrument_id, shown)
    assert list(wrong.value.messages) == [f"reading-{megohm}"]
    with pytest.raises(Mistakes), desk.doing(world.technician) as deed:
        record_reference_checks(deed, world.instrument_id, {})
    with pytest.raises(Missing), desk.doing(world.technician) as deed:
        record_reference_checks(deed, world.instrument_id, {999: Reading(Decimal(1), Unit.OHM)})
    with desk.reading_only() as session:
        assert list_reference_checks(session, ohm) == []


def test_a_failed_check_stops_the_instrument_until_a_good_one(desk: Desk, world: World, clock: Clock) -> None:
    ohm, megohm = known(desk, world, OHM, MEGOHM)
    assert not check(desk, world, ohm, "1.2")
    assert worries(desk, world) == ("Blue tester failed its check against 1 Ω resistor on 4 March 2026.",)
    with pytest.raises(Refused, match="Only the owner"), desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    with desk.doing(world.technician) as deed:
        record_reference_checks(deed, world.instrument_id, {megohm: Reading(Decimal(1), Unit.MEGOHM)})
    assert worries(desk, world), "a good check against something else proves nothing for this one"
    assert not check(desk, world, ohm, "1.3"), "a second failure needs no cause"
    with pytest.raises(Mistakes, match="Say what the cause was") as wrong:
        check(desk, world, ohm, "1.01", "  ")
    assert list(wrong.value.messages) == ["note"]
    assert check(desk, world, ohm, "1.01", "Cracked lead, replaced")
    assert worries(desk, world) == ()
    with desk.reading_only() as session:
        assert [row.after_failure for row in list_reference_checks(session, ohm)] == [False, False, True]
        told = list_journal(session, "instrument", world.instrument_id)[0].sentence
        assert told.endswith("After a failure against 1 Ω resistor: Cracked lead, replaced")
    assert check(desk, world, ohm, "1"), "and then as ever"
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)


def test_a_calibration_of_a_later_day_puts_a_failed_check_right(desk: Desk, world: World, clock: Clock) -> None:
    (item,) = known(desk, world)
    check(desk, world, item, "1.2")
    until = clock.today + timedelta(days=365)
    with desk.doing(world.office) as deed:
        add_calibration(deed, world.instrument_id, CalibrationDetails(clock.today, until, "SAME-DAY"))
    assert worries(desk, world), "it may have been made before the check"
    clock.pass_time(days=3)
    with desk.doing(world.office) as deed:
        add_calibration(deed, world.instrument_id, CalibrationDetails(clock.today, until, "LATER"))
    assert worries(desk, world) == ()


def test_a_check_falls_due_after_its_days(desk: Desk, world: World, clock: Clock) -> None:
    (item,) = known(desk, world)

    def due() -> tuple[str, ...]:
        with desk.reading_only() as session:
            standing = facts_of_standing(session, get_instrument(session, world.instrument_id))
            return list_overdue_checks(standing, desk.today)

    assert due() == ("Blue tester has not been checked against 1 Ω resistor yet.",)
    check(desk, world, item, "1")
    clock.pass_time(days=30)
    assert due() == ()
    clock.pass_time(days=1)
    assert due() == ("The last check of Blue tester against 1 Ω resistor counts until 3 April 2026 only.",)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    with desk.doing(world.office) as deed:
        change_reference_item(deed, world.instrument_id, item, ReferenceDetails(**(vars(OHM) | {"active": False})))
    assert due() == ()


def proofs_of(session: Session, world: World) -> list[Proof]:
    instrument = get_instrument(session, world.instrument_id)
    return list_proofs_of(session, [instrument])[instrument.id]


def test_both_kinds_of_proof_make_one_history(desk: Desk, world: World, clock: Clock) -> None:
    (item,) = known(desk, world)
    check(desk, world, item, "1")
    clock.pass_time(days=10)
    check(desk, world, item, "1.2")
    with desk.reading_only() as session:
        doubts = list_doubts(proofs_of(session, world))
    assert [(doubt.since, doubt.until, doubt.failed_on, doubt.reference) for doubt in doubts] == [
        (clock.today - timedelta(days=10), None, clock.today, "1 Ω resistor")
    ]
    assert doubts[0].check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE


def test_a_check_entered_wrongly_is_struck_out_by_the_owner(desk: Desk, world: World, clock: Clock) -> None:
    (item,) = known(desk, world)
    assert not check(desk, world, item, "10")
    with desk.reading_only() as session:
        (check_id,) = [row.id for row in list_reference_checks(session, item)]
    with pytest.raises(Refused, match="Only the owner"), desk.doing(world.office) as deed:
        strike_out_check(deed, world.instrument_id, check_id, "One zero too many")
    with pytest.raises(Mistakes), desk.doing(world.owner) as deed:
        strike_out_check(deed, world.instrument_id, check_id, " ")
    with desk.doing(world.owner) as deed:
        strike_out_check(deed, world.instrument_id, check_id, "One zero too many")
    with pytest.raises(Refused, match="already"), desk.doing(world.owner) as deed:
        strike_out_check(deed, world.instrument_id, check_id, "Again")
    assert worries(desk, world) == ()
    with desk.reading_only() as session:
        assert list_reference_checks(session, item) == []
        assert [each.struck_by for each in list_reference_checks(session, item, struck=True)] == ["Ines Tarn"]
        assert proofs_of(session, world)[-1].reference == ""
    assert check(desk, world, item, "1"), "no failure is left that would need a cause"


def test_an_item_with_checks_keeps_its_function(desk: Desk, world: World) -> None:
    (item,) = known(desk, world)
    check(desk, world, item, "1")
    with pytest.raises(Refused, match="has checks on record"), desk.doing(world.office) as deed:
        change_reference_item(deed, world.instrument_id, item, MEGOHM)
    with pytest.raises(Mistakes), desk.doing(world.office) as deed:
        add_reference_item(deed, world.instrument_id, OHM)
    with pytest.raises(Refused, match="Somebody else"), desk.doing(world.office) as deed:
        change_reference_item(deed, world.instrument_id, item, OHM, version=7)
    with desk.doing(world.office) as deed:
        change_reference_item(deed, world.instrument_id, item, replace(OHM, tolerance=Decimal(20)))
        assert list_journal(deed.session, "instrument", world.instrument_id)[0].sentence == (
            "Changed the reference item 1 Ω resistor, 1 Ω ± 20 % = 0.8 Ω to 1.2 Ω, due every 30 days; "
            "before that 1 Ω resistor, 1 Ω ± 5 % = 0.95 Ω to 1.05 Ω, due every 30 days."
        ), "a wider band lets an instrument pass that failed before"


def test_looking_at_an_item_needs_no_instrument(desk: Desk, world: World) -> None:
    (item,) = known(desk, world)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    check(desk, world, item, "1.2")
    looked = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="The plug is cracked")]
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[0], looked)
    measured = [
        Entry(Check.VISUAL, outcome=Outcome.PASS),
        Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(99), Unit.MEGOHM)),
    ]
    with pytest.raises(Refused, match="failed its check"), desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[1], measured)
