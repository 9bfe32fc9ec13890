"""What falls due and which defects are open, as the database tells them: one question, whatever there is."""

from datetime import timedelta

import pytest

from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.actions.visits import finish_visit, start_visit
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import NotTested
from app.store.defects import list_open_defects_of_all
from app.store.due_work import (
    count_without_date,
    facts_of_agreements,
    list_due_places,
)
from app.store.items import get_item
from tests.cast import Clock, World
from tests.questions import hearing


def fall_due(desk: Desk, *days: tuple[int, int]) -> None:
    """Let items fall due so many days from today."""
    with desk.doing(None) as deed:
        for item_id, ahead in days:
            get_item(deed.session, item_id).next_due_on = deed.today + timedelta(days=ahead)


def test_due_work_is_three_questions_however_much_there_is(desk: Desk, world: World) -> None:
    fall_due(desk, (world.item_ids[0], -3), (world.item_ids[1], 20), (world.other_item_ids[0], 200))
    with desk.database.reading() as session:
        with hearing(desk) as asked:
            (place,) = list_due_places(session, desk.today + timedelta(days=100))
        assert len(asked) == 3
        assert [group.count for group in place.groups] == [1, 1]
        assert (place.premises_id, place.booked_on, place.visit_id) == (world.premises_id, desk.today, world.visit_id)
        assert list_due_places(session, desk.today, customer_id=world.other_customer_id) == []
        assert list_due_places(session, desk.today, environment="office") == []
        assert count_without_date(session) == 3
        assert set(facts_of_agreements(session, desk.today)) == {None}


@pytest.mark.parametrize("state", ["", "out of use"])
def test_a_failed_item_is_an_open_defect_with_its_next_visit(
    desk: Desk, world: World, clock: Clock, state: str
) -> None:
    with desk.doing(world.technician) as deed:
        start_visit(deed, world.visit_id)
        failed = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="The plug is cracked")]
        record_item(deed, world.visit_id, world.item_ids[0], failed)
    clock.pass_time(minutes=6)
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[1], failed)
        leave_item(deed, world.visit_id, world.item_ids[2], NotTested.NOT_FOUND)
        finish_visit(deed, world.visit_id)
    with desk.database.reading() as session:
        state = get_item(session, world.item_ids[0]).state if state else ""
        found = list_open_defects_of_all(session, world.customer_id, state)
        assert [each.item.id for each in found] == world.item_ids[:2]
        assert found[0].retest_on is None
        assert list_open_defects_of_all(session, world.other_customer_id) == []
