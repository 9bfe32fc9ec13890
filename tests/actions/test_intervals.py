"""Deciding intervals, on both databases: months and reason on the item, the due date moved, a line in its history."""

from dataclasses import replace
from datetime import date

import pytest

from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.equipment_types import change_equipment_type
from app.actions.intervals import decide_interval, decide_intervals
from app.actions.item_certificates import issue_item_certificate
from app.actions.items import (
    add_item,
    change_item,
    copy_item,
    describe_type_reason,
    interval_months_of,
    withdraw_item,
)
from app.rules.interval_decisions import Doubted, IntervalDecision
from app.rules.items import EquipmentTypeDetails
from app.rules.risks import Level, RiskAnswers
from app.rules.verdicts import Mistakes, Refused
from app.store.database import Missing
from app.store.equipment_types import get_equipment_type
from app.store.intervals import list_interval_decisions, list_items_alike
from app.store.items import get_item
from app.store.journal import list_journal
from app.store.premises import get_premises
from app.store.readings import get_visit_item
from tests.cast import World
from tests.finished_visits import begin_worked_through

SOONER = IntervalDecision(6, "Carried about all day", RiskAnswers(handling=Level.HARSH), "0 of 3 failed.")


def test_a_decision_is_kept_and_moves_the_due_date(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
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
    begin_worked_through(desk, world.technician, world.visit_id)
    with desk.doing(world.office) as deed:
        decide_interval(deed, world.item_ids[0], SOONER)
        item = decide_interval(
            deed, world.item_ids[0], IntervalDecision(None, "Stays in one room now", all_the_same=True)
        )
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


def test_a_longer_interval_is_doubted_on_every_way(desk: Desk, world: World) -> None:
    """HSE INDG236: an earthed kettle is tested after 1 to 2 years."""
    kettle, decade = world.item_ids[0], IntervalDecision(120, "Never used")
    with pytest.raises(Doubted) as doubted, desk.doing(world.office) as deed:
        decide_interval(deed, kettle, decade)
    beyond, step, evidence = doubted.value.doubts
    assert "ends at 24 months" in beyond and "more than one step" in step and "no evidence" in evidence
    with pytest.raises(Mistakes, match="Ask the owner or the office"), desk.doing(world.technician) as deed:
        decide_interval(deed, kettle, replace(decade, all_the_same=True))
    with desk.doing(world.office) as deed:
        own = get_item(deed.session, kettle).details
        longer = replace(own, interval_months=120, interval_reason="because")
        with pytest.raises(Mistakes, match="its own page|own page for it"):
            change_item(deed, kettle, longer)
        with pytest.raises(Mistakes, match="longer than usual"):
            add_item(deed, replace(longer, number=""))
        decide_interval(deed, kettle, replace(decade, all_the_same=True))
        copy, kept = copy_item(deed, kettle), get_item(deed.session, kettle)
        assert (copy.interval_months, kept.interval_months) == (None, 120), "it was decided for that one alone"
    with pytest.raises(Mistakes, match="Ask the owner or the office"), desk.doing(world.technician) as deed:
        decide_interval(deed, copy.id, SOONER)
        decide_interval(deed, copy.id, IntervalDecision(None, "As before"))


def test_the_usual_interval_of_a_type_is_doubted_too_and_says_why(desk: Desk, world: World) -> None:
    """HSE: earthed, 1 to 2 years in places of low risk (INDG236), 6 to 12 months in light industry (HSG107)."""
    kind, kettle = world.equipment_type_id, world.item_ids[0]
    with desk.doing(world.owner) as deed:
        for item_id in (kettle, world.other_item_ids[0]):
            get_item(deed.session, item_id).equipment_type_id = kind
        get_premises(deed.session, world.other_premises_id).environment = "light-industrial"
        details = EquipmentTypeDetails("Kettle", get_equipment_type(deed.session, kind).facts, 24)
    with pytest.raises(Doubted) as doubted, desk.doing(world.office) as deed:
        change_equipment_type(deed, kind, details)
    assert set(doubted.value.messages) == {"interval_reason", "all_the_same"}
    told = " ".join(doubted.value.doubts)
    assert "Light industrial: HSE's row ends at 12 months" in told and "School" not in told
    assert "Light industrial: It is more than one step: 12 months is the most after 6 months" in told
    assert "Nothing of this type was tested" in told
    told_why = replace(details, interval_reason="Agreed with all of them")
    with pytest.raises(Mistakes, match="Ask the owner or the office"), desk.doing(world.technician) as deed:
        change_equipment_type(deed, kind, told_why, all_the_same=True)
    with desk.doing(world.office) as deed:
        change_equipment_type(deed, kind, told_why, all_the_same=True)
        change_equipment_type(deed, kind, replace(told_why, name="Kettles", interval_reason=""))
        assert get_equipment_type(deed.session, kind).interval_reason == "Agreed with all of them"
        item = get_item(deed.session, kettle)
        assert (interval_months_of(item), item.interval_months) == (24, None)
        assert describe_type_reason(item) == "usual for the equipment type Kettles: Agreed with all of them"
    with desk.reading_only() as session:
        assert list_journal(session, "equipment type", kind)[1].sentence == (
            "Changed the equipment type Kettle. Its usual interval: every 24 months, before that as suggested for item "
            "and place. Reason: Agreed with all of them."
        )


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
    begin_worked_through(desk, world.technician, world.visit_id)
    kettle = world.item_ids[0]
    with desk.doing(world.office) as deed:
        version = get_visit_item(deed.session, world.visit_id, kettle).version
        decide_interval(deed, kettle, SOONER)
    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, kettle)
        assert (row.next_due_on, row.version) == (date(2026, 9, 4), version)
    issue_item_certificate(desk, world.office, kettle)
    with desk.doing(world.office) as deed:
        decide_interval(deed, kettle, IntervalDecision(4, "Sooner still"))
    with desk.reading_only() as session:
        assert get_visit_item(session, world.visit_id, kettle).next_due_on == date(2026, 9, 4), "its own paper says so"
    issue_certificate(desk, world.office, world.visit_id)
    with desk.doing(world.office) as deed:
        decide_intervals(deed, {kettle: None, world.item_ids[2]: None}, IntervalDecision(3, "Sooner still"))
    with desk.reading_only() as session:
        assert get_visit_item(session, world.visit_id, kettle).next_due_on == date(2026, 9, 4)
        assert get_visit_item(session, world.visit_id, world.item_ids[2]).next_due_on == date(2027, 3, 4)
        assert get_item(session, kettle).next_due_on == date(2026, 6, 4)
