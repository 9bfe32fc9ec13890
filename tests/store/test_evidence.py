"""The one grouped question behind the evidence, on both databases."""

from datetime import timedelta
from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import Booking, NotTested
from app.store.evidence import NO_TYPE, FailureCount, list_failure_counts
from app.store.items import get_item
from tests.cast import Clock, World

SAFE_AFTER_REPAIR = [
    Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal("0.1"), Unit.OHM)),
    Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE)),
    Entry(Check.POLARITY, outcome=Outcome.PASS),
    Entry(Check.FUNCTIONAL, outcome=Outcome.PASS),
]


def test_groups_are_counted(desk: Desk, world: World) -> None:
    broken = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Plug cracked")]
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        record_item(deed, world.visit_id, world.item_ids[0], broken)
        record_item(deed, world.visit_id, world.item_ids[1], broken)
        leave_item(deed, world.visit_id, world.item_ids[2], NotTested.NOT_FOUND)
    name = "Brackenhow Primary School"
    with desk.reading_only() as session:
        found = list_failure_counts(session, desk.today)
        assert found == [FailureCount(world.customer_id, name, None, NO_TYPE, "school", 2, 2, 2, 2)]
        assert list_failure_counts(session, desk.today, world.other_customer_id) == []


def test_an_item_counts_once_and_not_after_its_repair(desk: Desk, world: World, clock: Clock) -> None:
    """Three visits: the kettle fails, passes after its repair, passes; the drill passes each time."""
    broken = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Plug cracked")]
    fine = [Entry(Check.VISUAL, outcome=Outcome.PASS)]
    kettle, drill = world.item_ids[:2]
    with desk.doing(world.owner) as deed:
        for item_id in (kettle, drill):
            get_item(deed.session, item_id).equipment_type_id = world.equipment_type_id
            get_item(deed.session, item_id).own_checks = ["visual"]
    for place, entries in enumerate((broken, fine, fine)):
        with desk.doing(world.technician) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
            visit_id = visits.book_visit(deed, booking).id
            visits.start_visit(deed, visit_id)
            if place == 1:
                with_repair = [*entries, *SAFE_AFTER_REPAIR]
                record_item(deed, visit_id, kettle, with_repair, after_repair=True)
            else:
                record_item(deed, visit_id, kettle, entries)
            record_item(deed, visit_id, drill, fine)
        clock.pass_time(days=30)
    with desk.reading_only() as session:
        since = desk.today - timedelta(days=300)
        counts = list_failure_counts(session, since, world.customer_id, world.equipment_type_id, "school")
        assert [(row.tests, row.failed_tests, row.items, row.failed_items) for row in counts] == [(5, 1, 2, 1)]
        assert list_failure_counts(session, since, premises_id=world.other_premises_id) == []
        assert list_failure_counts(session, since, environment="office") == []
