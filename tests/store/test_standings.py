"""How several instruments stand is answered in as many questions as how one does, and alike."""

from datetime import timedelta
from decimal import Decimal

from app.actions.deeds import Desk
from app.actions.instruments import add_calibration, add_instrument
from app.actions.reference_checks import add_reference_item, record_reference_checks
from app.rules.checks import Check
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.quantities import Reading, Unit
from app.rules.reference_checks import ReferenceDetails
from app.store.instruments import list_instruments
from app.store.reference_checks import facts_of_standing, facts_of_standings
from tests.cast import World
from tests.questions import hearing

OHM = ReferenceDetails("1 Ω resistor", Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Decimal(1), Unit.OHM, Decimal(5))


def add_more(desk: Desk, world: World, many: int) -> None:
    """Add instruments: every second one calibrated, every third one with a check, which fails at every sixth."""
    with desk.doing(world.owner) as deed:
        for each in range(1, many + 1):
            row = add_instrument(deed, InstrumentDetails(f"Tester {each}", f"N-{each}"))
            if each % 2 == 0:
                days = CalibrationDetails(
                    desk.today - timedelta(days=each), desk.today, f"CAL-{each}", "Beck Calibration"
                )
                add_calibration(deed, row.id, days)
            if each % 3 == 0:
                known = add_reference_item(deed, row.id, OHM)
                shown = Decimal("1.2") if each % 6 == 0 else Decimal("1.01")
                record_reference_checks(deed, row.id, {known.id: Reading(shown, Unit.OHM)})


def test_many_instruments_stand_as_each_alone_in_as_many_questions(desk: Desk, world: World) -> None:
    add_more(desk, world, 7)
    with desk.reading_only() as session:
        rows = list_instruments(session)
        with hearing(desk) as asked:
            together = facts_of_standings(session, rows)
    with desk.reading_only() as session:
        first, *others = list_instruments(session)
        with hearing(desk) as asked_of_one:
            alone = {first.id: facts_of_standing(session, first)}
        alone |= {row.id: facts_of_standing(session, row) for row in others}
    assert together == alone
    assert len(asked) == len(asked_of_one)
    by_name = {standing.name: standing for standing in together.values()}
    assert by_name["Tester 6"].failed_checks == (("1 Ω resistor", desk.today),)
    assert by_name["Tester 3"].checks_until and not by_name["Tester 3"].failed_checks
    assert by_name["Tester 1"].good_until is None


def test_no_instrument_is_no_question_too_many(desk: Desk, world: World) -> None:
    with desk.reading_only() as session:
        assert facts_of_standings(session, []) == {}
