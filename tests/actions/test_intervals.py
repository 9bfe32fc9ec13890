"""Deciding intervals, on both databases: months and reason on the item, the due date moved, a line in its history."""

from datetime import date

import pytest

from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.intervals import decide_interval, decide_intervals
from app.actions.items import change_item, withdraw_item
from app.rules.interval_decisions import IntervalDecision
from app.rules.risks import Level, RiskAnswers
from app.rules.verdicts import Mistakes, Refused
from app.store.database import Missing
from app.store.intervals import list_interval_decisions, list_items_alike
from app.store.items import get_item
from app.store.journal import list_journal
from app.store.readings import get_visit_item
from tests.cast import Clock, World
from tests.finished_visits import work_through

SOONER = IntervalDecision(6, "Carried about all day", RiskAnswers(handling=Level.HARSH), "0 of 3 failed.")


def test_a_decision_is_kept_and_moves_the_due_date(desk: Desk, world: World) -> None:
    work_through(desk, world.technician, world.visit_id)
    kettle = world.item_ids[0]
    with desk.doing(world.office) as deed:
        assert get_item(deed.session, kettle).next_due_on == date(2027, 3, 4), "HSE's earthed row begins with a year"
        decide_interval(deed, kettle, SOONER)
    with desk.reading_only() as session:
        item, decided = get_item(session, kettle), list_interval_decisions(session, kettle)
        assert (item.interval_months, item.interval_reason) == (6, "Carried about all day")
        assert item.next_due_on == date(2026, 9, 4)
        (row,) = decided
        assert (row.months_before, row.months, row.person_name, row.decided_on) == (12, 6, "Bea Holm", desk.today)
        assert row.answers is not None and row.answers["handling"] == "harsh" and row.answers["age"] == "usual"
        assert (row.evidence, row.together) == ("0 of 3 failed.", 1)
        assert list_journal(session, "item", kettle)[0].sentence == (
            "Decided the interval of item 0001: every 6 months, before that every 12 months. "
            "Reason: Carried about all day. Next due on 4 September 2026."
        )


def test_the_usual_interval_can_hold_again(desk: Desk, world: World) -> None:
    work_through(desk, world.technician, world.visit_id)
    with desk.doing(world.office) as deed:
        decide_interval(deed, world.item_ids[0], SOONER)
        item = decide_interval(deed, world.item_ids[0], IntervalDecision(None, "Stays in one room now"))
        assert (item.interval_months, item.interval_reason, item.next_due_on) == (None, "", date(2027, 3, 4))
        newest = list_interval_decisions(deed.session, item.id)[0]
        assert (newest.months, newest.months_before, newest.reason) == (None, 6, "Stays in one room now")


def test_several_are_decided_together_or_not_at_all(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        versions = {item_id: get_item(deed.session, item_id).version for item_id in world.item_ids}
        rows = decide_intervals(deed, versions, SOONER)
        assert [row.interval_months for row in rows] == [6, 6, 6]
    with desk.reading_only() as session:
        assert [list_interval_decisions(session, each)[0].together for each in world.item_ids] == [3, 3, 3]
        assert "(with 2 others alike)" in list_journal(session, "item", world.item_ids[1])[0].sentence
    with pytest.raises(Refused, match="changed item 0001"), desk.doing(world.office) as deed:
        decide_intervals(deed, {world.item_ids[1]: None, **versions}, IntervalDecision(3, "Too late"))
    with desk.reading_only() as session:
        assert {get_item(session, each).interval_months for each in world.item_ids} == {6}


@pytest.mark.parametrize(("months", "reason", "field"), [(0, "x", "months"), (121, "x", "months"), (12, " ", "reason")])
def test_what_is_wrong_is_said(desk: Desk, world: World, months: int, reason: str, field: str) -> None:
    with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
        decide_interval(deed, world.item_ids[0], IntervalDecision(months, reason))
    assert set(wrong.value.messages) == {field}


def test_nothing_is_decided_for_nothing_or_for_what_is_gone(desk: Desk, world: World) -> None:
    with pytest.raises(Mistakes, match="items"), desk.doing(world.office) as deed:
        decide_intervals(deed, {}, SOONER)
    with pytest.raises(Missing), desk.doing(world.office) as deed:
        decide_intervals(deed, {999: None}, SOONER)
    with desk.doing(world.owner) as deed:
        withdraw_item(deed, world.item_ids[0], "Scrapped")
    with pytest.raises(Refused, match="withdrawn"), desk.doing(world.office) as deed:
        decide_interval(deed, world.item_ids[0], SOONER)


def test_an_interval_set_with_the_items_facts_is_in_the_history_too(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.office) as deed:
        item = get_item(deed.session, world.item_ids[0])
        own = vars(item.details) | {"interval_months": 24, "interval_reason": "Seldom used"}
        change_item(deed, item.id, type(item.details)(**own))
        change_item(deed, item.id, type(item.details)(**own | {"notes": "Blue"}))
        (row,) = list_interval_decisions(deed.session, item.id)
        assert (row.months_before, row.months, row.reason) == (12, 24, "Seldom used")


def test_items_alike_are_of_one_type_at_one_customer_in_one_kind_of_place(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).equipment_type_id = world.equipment_type_id
        withdraw_item(deed, world.item_ids[2], "Scrapped")
    with desk.reading_only() as session:
        group = (world.customer_id, world.equipment_type_id, "school")
        assert [row.id for row in list_items_alike(session, *group)] == world.item_ids[:2]
        assert list_items_alike(session, *group, world.other_premises_id) == []
        assert list_items_alike(session, world.customer_id, world.equipment_type_id, "office") == []


def test_a_certificate_says_the_date_that_was_decided_before_it(desk: Desk, world: World) -> None:
    """A date that is printed stays; one that is not yet moves along, without a change to the sheet's version."""
    work_through(desk, world.technician, world.visit_id)
    kettle = world.item_ids[0]
    with desk.doing(world.office) as deed:
        version = get_visit_item(deed.session, world.visit_id, kettle).version
        decide_interval(deed, kettle, SOONER)
    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, kettle)
        assert (row.next_due_on, row.version) == (date(2026, 9, 4), version)
    issue_certificate(desk, world.office, world.visit_id)
    with desk.doing(world.office) as deed:
        decide_interval(deed, kettle, IntervalDecision(3, "Sooner still"))
    with desk.reading_only() as session:
        assert get_visit_item(session, world.visit_id, kettle).next_due_on == date(2026, 9, 4)
        assert get_item(session, kettle).next_due_on == date(2026, 6, 4)
