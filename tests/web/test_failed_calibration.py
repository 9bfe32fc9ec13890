"""A calibration that failed stops the instrument and lists what was measured with it since the last good one."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.instruments import add_calibration
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.instrument_standings import Doubt, Proof, list_doubts
from app.rules.instruments import CalibrationDetails
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Outcome, Refused
from app.rules.visits import Booking
from tests.cast import BrowseAs, Clock, World


def measure(desk: Desk, world: World, visit_id: int, item_id: int) -> None:
    insulated = Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE))
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, visit_id)
        record_item(deed, visit_id, item_id, [Entry(Check.VISUAL, outcome=Outcome.PASS), insulated])


def test_what_is_in_doubt_is_listed_by_customer(browse_as: BrowseAs, world: World, desk: Desk, clock: Clock) -> None:
    measure(desk, world, world.visit_id, world.item_ids[1])
    measure(desk, world, world.other_visit_id, world.other_item_ids[1])
    clock.pass_time(days=30)
    with desk.doing(world.office) as deed:
        bad = CalibrationDetails(clock.today, clock.today + timedelta(days=365), "CAL-X", passed=False)
        add_calibration(deed, world.instrument_id, bad)
    page = browse_as(world.office).get(f"/instruments/{world.instrument_id}").text
    assert "Records in doubt" in page and "failed as found" in page
    assert page.index("Brackenhow Primary School") < page.index("Saltgate Brewery")
    assert f"/visits/{world.visit_id}" in page and f"/visits/{world.other_visit_id}" in page
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, clock.today)
        booked = visits.book_visit(deed, booking).id
    with pytest.raises(Refused, match="failed its calibration of 3 April 2026"), desk.doing(world.technician) as deed:
        visits.start_visit(deed, booked)


def test_it_is_entered_on_the_page(browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    path = f"/instruments/{world.instrument_id}"
    fields = {"calibrated_on": "2026-03-04", "good_until": "2027-03-03", "certificate_number": "X", "failed": "yes"}
    assert office.post(f"{path}/calibrations", fields).status_code == 303
    assert "Nothing was measured with it in that time" in office.get(path).text


def test_the_span_in_doubt() -> None:
    day = date(2026, 3, 4)
    assert list_doubts([Proof(day, True)]) == ()
    assert list_doubts([Proof(day, False)]) == (Doubt(None, day),)
    before, after = day - timedelta(days=300), day + timedelta(days=10)
    assert list_doubts([Proof(before, True), Proof(day, False), Proof(after, True)]) == (Doubt(before, day),)
