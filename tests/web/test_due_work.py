"""The pages of what falls due and of open defects: links that lead on, filters kept, no money for technicians."""

from datetime import timedelta

from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.actions.visits import start_visit
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.verdicts import Outcome
from app.store.items import get_item
from tests.cast import BrowseAs, World


def fall_due(desk: Desk, *days: tuple[int, int]) -> None:
    with desk.doing(None) as deed:
        for item_id, ahead in days:
            get_item(deed.session, item_id).next_due_on = deed.today + timedelta(days=ahead)


def test_due_work_shows_visits_with_money_to_the_office_alone(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    fall_due(desk, (world.item_ids[0], -3), (world.item_ids[1], 20))
    office = browse_as(world.office).get("/due")
    assert office.status_code == 200
    assert "£60.00" in office.text  # the agreed minimum
    assert "Overdue" in office.text and "1 item" in office.text.replace("\u00a0", " ")
    assert f"/visits/{world.visit_id}" in office.text
    technician = browse_as(world.technician).get("/due")
    assert technician.status_code == 200
    assert "£" not in technician.text and "/quotes/new" not in technician.text and "/visits/new" not in technician.text


def test_the_window_is_kept_in_the_address_and_decides_the_visits(
    browse_as: BrowseAs, world: World, desk: Desk
) -> None:
    fall_due(desk, (world.other_item_ids[0], 10), (world.other_item_ids[1], 60))
    office = browse_as(world.office)
    wide = office.get("/due?early=30&late=40").text.replace("\u00a0", " ")
    assert 'value="40"' in wide and "1 item early, 30 days of interval lost in all" in wide
    assert "1 item overdue by then, 20 days in all" in wide
    narrow = office.get("/due?early=0&late=0").text
    assert narrow.count("Nothing: every item is on its day.") == 2
    assert "Give a whole number from 0 to 366." in office.get("/due?early=400").text
    assert "Nothing falls due" in office.get(f"/due?customer={world.customer_id}").text


def test_open_defects_say_who_must_act(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    technician = browse_as(world.technician)
    assert "No open defect" in technician.get("/defects").text
    with desk.doing(world.technician) as deed:
        start_visit(deed, world.visit_id)
        failed = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="The <plug> is cracked")]
        record_item(deed, world.visit_id, world.item_ids[0], failed)
    shown = technician.get("/defects").text
    assert f"/items/{world.item_ids[0]}#defects" in shown and f"/premises/{world.premises_id}" in shown
    assert "<plug>" not in shown and "£" not in shown
    assert "Test it again at the visit today" in shown
    assert "No open defect" in technician.get("/defects?waits=customer").text
    assert "No open defect" in technician.get(f"/defects?customer={world.other_customer_id}").text
    assert 'href="/defects"' in technician.get("/").text
