"""The pages of what falls due and of open defects: links that lead on, filters kept, no money for technicians."""

import re
from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest

from app.actions.deeds import Desk
from app.actions.items import add_item
from app.actions.letters import write_visit_letter
from app.actions.planners import Place, book_from_pool, unbook_visit
from app.actions.planning_settings import change_planning_settings
from app.actions.premises import change_premises
from app.actions.prices import agree_prices
from app.actions.readings import record_item
from app.actions.visits import cancel_visit, start_visit
from app.rules.checks import Check
from app.rules.due_work import describe_area
from app.rules.entries import Entry
from app.rules.items import ItemDetails
from app.rules.mail_texts import MailKind
from app.rules.planning_settings import PlanningSettings
from app.rules.verdicts import Outcome
from app.store.items import get_item
from app.store.premises import get_premises
from app.store.proposal_facts import facts_of_question
from app.store.readings import list_visit_items
from app.store.visits import list_visits
from tests.cast import KETTLE, BrowseAs, Clock, World
from tests.web.page_text import words_of


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


def test_areas_are_chosen_and_set_the_order(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    fall_due(desk, (world.item_ids[0], 70), (world.other_item_ids[0], 10))
    with desk.doing(world.owner) as deed:
        told = get_premises(deed.session, world.premises_id).details
        change_premises(deed, world.premises_id, replace(told, postcode="aa9a9aa"))
    office, ours, theirs = (
        browse_as(world.office),
        f"/premises/{world.premises_id}",
        f"/premises/{world.other_premises_id}",
    )

    def shown(address: str) -> list[str]:
        """Headings and premises of the list, in their order."""
        page = office.get(address).text
        return [
            one.strip() or two for one, two in re.findall(r'<h2>([\w ]+?)<|<th scope="row"><a href="([^"]+)"', page)
        ]

    assert shown("/due") == ["March 2026", theirs, "May 2026", ours]
    assert shown("/due?by=area") == ["AA9A", ours, "ZZ1", theirs]
    assert shown("/due?area=AA9A") == ["May 2026", ours]
    assert shown("/due?area=nowhere") == shown("/due")


@pytest.mark.parametrize(
    ("postcode", "area"),
    # The six shapes of British postcodes, as the General Post Office and its successors publish them (from memory).
    [("M1 1AA", "M1"), ("M60 1NW", "M60"), ("CR2 6XH", "CR2"), ("DN55 1PT", "DN55"), ("W1P 1HQ", "W1P")]
    + [("ec1a1bb", "EC1A"), ("1010 AA", "1010"), ("", "")],
)
def test_the_area_of_a_postcode_is_its_outward_code(postcode: str, area: str) -> None:
    assert describe_area(postcode) == area


def test_one_visit_has_the_same_items_time_and_money_wherever_it_is_told(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    """Two fall due within the window, one has no date, one is out of use: four of five items, 15 minutes around it and
    5 + 5 + 4 + 5 for the items (starting values), so 35 minutes; 4 × £20.00 and £25.00 call-out are £105.00.
    """
    fall_due(desk, (world.item_ids[0], -3), (world.item_ids[1], 20))
    with desk.doing(world.owner) as deed:
        cancel_visit(deed, world.visit_id, "for the test")
        change_planning_settings(deed, PlanningSettings(early_days=30, late_days=5), None)
        agree_prices(deed, world.customer_id, deed.today, item_pence=2000, call_out_pence=2500)
        far, broken = (add_item(deed, ItemDetails("", "Kettle", world.location_id, facts=KETTLE)) for _ in range(2))
        far.next_due_on, broken.state = deed.today + timedelta(days=300), "out of use"
        until, due_until = deed.today + timedelta(days=13), deed.today + timedelta(days=20)
    office, place = browse_as(world.office), world.premises_id

    def words(address: str) -> str:
        return words_of(office.get(address))

    assert re.search(r"due 1 Mar 2026 to 24 Mar 2026 4 1 overdue 2 without a date 35 min .* £105\.00", words("/due"))
    assert ",4,1,35 min," in office.get("/exports/due.csv").text and ",105.00" in office.get("/exports/due.csv").text
    assert "24 Mar 2026 overdue 4 35 min" in words("/proposals/new")
    with desk.database.reading() as session:
        (wish,) = facts_of_question(session, [place], [until], 30, desk.today).wishes
    assert (wish.items, wish.minutes, wish.due_until) == (4, 35, due_until)
    assert "4 items by 24 Mar 2026; the visit takes about 35 min" in words("/planner")
    for form in (f"/planner/book?premises={place}&due={due_until}", f"/visits/new?premises_id={place}"):
        assert "What falls due by 24 Mar 2026: 4 items, about 35 min" in words(form)
        assert "Everything on the register: 5 items, about 40 min" in words(form)
    quoting = f"/quotes/new?premises={place}&due={due_until}"
    assert f'href="{quoting}"' in office.get("/due").text
    assert "What falls due by 24 Mar 2026: 4 items" in words(quoting)
    asked = {"premises_id": place, "source": "due", "due_until": due_until.isoformat(), "valid_days": "30"}
    quoted = words(office.post("/quotes", asked).headers["location"])
    assert "what falls due by 24 March 2026" in quoted and "£105.00" in quoted
    day = (desk.today + timedelta(days=1)).isoformat()
    sent = {"premises_id": place, "day": day, "technician_id": world.technician.id, "due_until": due_until.isoformat()}
    assert office.post("/planner/book", sent).status_code == 303
    with desk.doing(world.technician) as deed:
        visit = list_visits(deed.session, premises_id=place, state="booked")[0]
        letter = write_visit_letter(deed.session, visit, MailKind.BOOKING, "Bea Holm")[1].body
        assert (visit.minutes, visit.minutes_by_hand) == (35, False) and "about 35 min" in letter
        visit_id, start = visit.id, datetime.combine(visit.booked_on, visit.booked_time or time(0))
    shown = words(f"/visits/{visit_id}")
    assert "what falls due by 24 Mar 2026: 4 items" in shown and "35 min, estimated" in shown
    board = words("/planner")
    assert f"{start:%H:%M} –{start + timedelta(minutes=35):%H:%M}" in board, board
    with desk.doing(world.office) as deed:  # taken off the planner and put back it stays what it was made for
        wanted_id = unbook_visit(deed, visit_id).id
    assert "4 items by 24 Mar 2026; the visit takes about 35 min" in words("/planner")
    with desk.doing(world.office) as deed:
        again = book_from_pool(deed, place, Place(deed.today + timedelta(days=1), world.technician.id), wanted_id)
        assert (again.minutes, again.due_until) == (35, due_until)
        visit_id = again.id
    technician = browse_as(world.technician)
    assert len(technician.get(f"/visits/{visit_id}/pack").json()["items"]) == 4
    clock.pass_time(days=1)
    with desk.doing(world.technician) as deed:
        start_visit(deed, visit_id)
    with desk.reading_only() as session:
        assert {row.item_id for row in list_visit_items(session, visit_id)} == {*world.item_ids, broken.id}
    office = browse_as(world.office)  # booked by hand it is for everything
    sent = {"premises_id": place, "booked_on": "2026-03-06", "technician_id": world.technician.id}
    sent |= {"instrument_id": world.instrument_id, "due_until": ""}
    everything = office.post("/visits", sent).headers["location"]
    assert "everything on the register: 5 items" in words(everything) and "40 min, estimated" in words(everything)


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
