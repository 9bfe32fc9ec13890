"""The one grouped question behind the evidence, on both databases."""

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.readings import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import NotTested
from app.store.evidence import NO_TYPE, FailureCount, list_failure_counts
from tests.cast import World


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
        assert found == [FailureCount(world.customer_id, name, NO_TYPE, "school", 2, 2)]
        assert list_failure_counts(session, desk.today, world.other_customer_id) == []
