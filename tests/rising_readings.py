"""Five visits to the small firm's school, half a year apart, at which the kettle's protective conductor creeps up."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.instruments import add_calibration
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.instruments import CalibrationDetails
from app.rules.quantities import Bound, Reading, Unit
from app.rules.verdicts import Outcome
from app.rules.visits import Booking, NotTested
from app.store.readings import list_visit_items
from tests.cast import Clock, World

#: 0.04 Ω a year towards 0.139 Ω (0.1 + 1.5 m of 0.75 mm², IEC 60228): met half a year after the last of them.
RISING = ("0.04", "0.06", "0.08", "0.10", "0.12")


def visit_repeatedly(desk: Desk, world: World, clock: Clock, ohms: Sequence[str] = RISING) -> list[int]:
    """Work the visits to their ends, the clock standing at the last; gives their ids."""
    ids = []
    for place, value in enumerate(ohms):
        if place:
            clock.pass_time(days=182)
        with desk.doing(world.office) as deed:
            held = CalibrationDetails(clock.today, clock.today + timedelta(days=364), f"CAL-{clock.today}")
            add_calibration(deed, world.instrument_id, held)
        with desk.doing(world.technician) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, clock.today)
            ids.append(visits.book_visit(deed, booking).id)
            visits.start_visit(deed, ids[-1])
            for row in list_visit_items(deed.session, ids[-1]):
                if row.item_id == world.item_ids[0]:
                    record_item(deed, ids[-1], row.item_id, kettle_entries(value))
                else:
                    leave_item(deed, ids[-1], row.item_id, NotTested.NOT_FOUND)
            visits.finish_visit(deed, ids[-1])
    return ids


def kettle_entries(ohms: str) -> list[Entry]:
    """A whole sequence for the kettle."""
    return [
        Entry(Check.VISUAL, outcome=Outcome.PASS),
        Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal(ohms), Unit.OHM)),
        Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(200), Unit.MEGOHM, Bound.ABOVE)),
        Entry(Check.FUNCTIONAL, outcome=Outcome.PASS),
    ]
