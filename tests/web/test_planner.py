"""The planner's pages: who stands where, moves by plain forms and for its script, what is refused beside its cause."""

import re
from datetime import time, timedelta

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.rules.visits import Booking
from app.store.items import get_item
from app.store.visits import get_visit, list_live_visits
from tests.cast import BrowseAs, World

JSON = {"Accept": "application/json"}


@pytest.fixture
def two(desk: Desk, world: World) -> tuple[int, int]:
    """Two visits on Tuesday of next week, at nine for an hour and at eleven."""
    day = desk.today + timedelta(days=6)
    with desk.doing(world.office) as deed:
        both = [
            Booking(place, world.technician.id, world.instrument_id, day, at, minutes=60)
            for place, at in ((world.premises_id, time(9)), (world.other_premises_id, time(11)))
        ]
        first, second = (visits.book_visit(deed, booking).id for booking in both)
    return first, second


def cell(html: str, day: str, technician_id: int) -> str:
    """What stands in one place of the week."""
    found = re.search(rf'data-day="{day}" data-technician="{technician_id}".*?</td>', html, re.S)
    assert found is not None
    return found[0]


def test_week_and_month_show_the_same_visits(browse_as: BrowseAs, world: World, two: tuple[int, int]) -> None:
    office = browse_as(world.office)
    week = office.get("/planner?day=2026-03-10").text
    tuesday = cell(week, "2026-03-10", world.technician.id)
    assert tuesday.index(f'id="visit-{two[0]}"') < tuesday.index(f'id="visit-{two[1]}"')
    assert "09:00" in tuesday and "–10:00" in tuesday and "2 h 00 min booked" in week
    assert 'id="visit-' not in cell(week, "2026-03-11", world.technician.id)
    month = office.get("/planner?view=month&day=2026-03-01").text
    assert all(month.count(f'id="visit-{visit_id}"') == 1 for visit_id in two)
    other = office.get(f"/planner?view=month&day=2026-03-01&technician={world.owner.id}").text
    assert 'id="visit-' not in other
    assert browse_as(world.technician).get("/planner").status_code == 403


def test_a_move_from_the_form_and_from_the_script(
    browse_as: BrowseAs, world: World, desk: Desk, two: tuple[int, int]
) -> None:
    office, (first, second) = browse_as(world.office), two
    form = office.get(f"/planner/visits/{second}/move?day=2026-03-12&back=view%3Dweek%26day%3D2026-03-10")
    assert 'value="2026-03-12"' in form.text and 'value="11:00"' in form.text
    moved = office.post(f"/planner/visits/{second}/move", {
        "day": "2026-03-12", "technician_id": world.technician.id, "booked_time": "14:00", "version": 1,
        "back": "view=week&day=2026-03-10",
    })  # fmt: skip
    assert moved.status_code == 303 and moved.headers["location"] == "/planner?view=week&day=2026-03-10"
    told = office.post(f"/planner/visits/{first}/move", {
        "day": "2026-03-12", "technician_id": world.technician.id, "version": 1}, headers=JSON)  # fmt: skip
    assert told.json()["visit"] == first
    with desk.reading_only() as session:
        days = {row.id: (row.booked_on.isoformat(), row.booked_time) for row in list_live_visits(
            session, desk.today + timedelta(days=8))}  # fmt: skip
    assert days == {first: ("2026-03-12", time(9)), second: ("2026-03-12", time(14))}


def test_what_clashes_is_refused_beside_its_cause(
    browse_as: BrowseAs, world: World, desk: Desk, two: tuple[int, int]
) -> None:
    office, second = browse_as(world.office), two[1]
    fields = {"day": "2026-03-10", "technician_id": world.technician.id, "booked_time": "09:30", "version": 1}
    page = office.post(f"/planner/visits/{second}/move", fields)
    assert page.status_code == 422
    for name in ("technician_id", "instrument_id", "booked_time"):
        assert f'id="f-{name}-mistake"' in page.text
    assert "Joss Alder is booked from 09:00 to 10:00 at Brackenhow Primary School main site" in page.text
    assert "Both are free from 10:00." in page.text and 'value="09:30"' in page.text
    told = office.post(f"/planner/visits/{second}/move", fields, headers=JSON)
    assert told.status_code == 422 and set(told.json()["mistakes"]) == {"technician_id", "instrument_id", "booked_time"}
    stale = office.post(f"/planner/visits/{second}/move", fields | {"booked_time": "15:00", "version": 7}, headers=JSON)
    assert stale.status_code == 409 and "Somebody else has changed this visit" in stale.json()["message"]
    late = office.post(f"/planner/visits/{second}/move", fields | {"booked_time": "23:30"})
    assert late.status_code == 422 and "It would end after midnight" in late.text
    with desk.reading_only() as session:
        assert get_visit(session, second).version == 1


def test_outside_working_hours_is_only_warned_of(browse_as: BrowseAs, world: World, two: tuple[int, int]) -> None:
    office = browse_as(world.office)
    fields = {"day": "2026-03-15", "technician_id": world.technician.id, "booked_time": "06:00", "version": 1}
    assert office.post(f"/planner/visits/{two[0]}/move", fields).status_code == 303
    assert "plan-warning" in cell(office.get("/planner?day=2026-03-15").text, "2026-03-15", world.technician.id)


def test_the_pool_holds_what_is_due_and_what_is_wanted(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "By mistake")
        get_item(deed.session, world.item_ids[0]).next_due_on = deed.today + timedelta(days=2)
    office = browse_as(world.office)
    due = office.get("/planner").text
    assert f'data-premises="{world.premises_id}" data-wanted=""' in due and 'about <span class="whole">30 min' in due
    wrong = office.post("/planner/wanted", {"premises_id": "", "note": "Lift is out", "back": "day=2026-03-10"})
    assert wrong.status_code == 422 and "Lift is out" in wrong.text and "9 to 15 March 2026" in wrong.text
    assert office.post("/planner/wanted", {"premises_id": world.premises_id, "note": "Lift is out"}).status_code == 303
    wanted = office.get("/planner").text
    assert f'data-premises="{world.premises_id}" data-wanted="1"' in wanted and "Lift is out" in wanted
    assert 'data-wanted=""' not in wanted  # one entry a place
    form = office.get(f"/planner/book?premises={world.premises_id}&wanted=1").text
    assert "About 30 min" in form and "our starting values" in form
    sent = {"premises_id": world.premises_id, "wanted_id": 1, "day": "2026-03-06", "technician_id": world.technician.id}
    told = office.post("/planner/book", sent, headers=JSON).json()
    board = office.get("/planner/parts/board?day=2026-03-06").text
    assert f'id="visit-{told["visit"]}"' in cell(board, "2026-03-06", world.technician.id) and "pool-1" not in board
    assert office.post("/planner/book", sent, headers=JSON).status_code == 409
    wrong = office.post("/planner/book", sent | {"wanted_id": "", "technician_id": "", "minutes": "3"})
    assert wrong.status_code == 422 and "Choose who goes." in wrong.text and "Give a whole number from 5" in wrong.text


def test_a_visit_of_several_days_stands_on_each_of_them(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    office = browse_as(world.office)
    fields = {
        "premises_id": world.premises_id, "technician_id": world.technician.id, "instrument_id": world.instrument_id,
        "booked_on": "2026-03-12", "minutes": 1200,
    }  # fmt: skip
    wrong = office.post("/visits", fields | {"days_asked": "21"})
    assert wrong.status_code == 422 and "Give a whole number from 1 to 20." in wrong.text
    visit = office.post("/visits", fields).headers["location"]
    number = visit.rpartition("/")[2]
    shown = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", office.get(visit).text.replace("\u00a0", " ")))
    assert "Thu 12 to Mon 16 March 2026, 3 days" in shown and "20 h 00 min, as typed" in shown
    assert "Fri 13 Mar 2026 , 08:30 to 17:00" in shown and "Mon 16 Mar 2026 , 08:30 to 11:30" in shown
    week, after = office.get("/planner?day=2026-03-12").text, office.get("/planner?day=2026-03-16").text
    first, second = (cell(week, f"2026-03-{day}", world.technician.id) for day in (12, 13))
    assert "day 1 of 3" in first and "plan-move" in first  # it is moved by its first day
    assert "day 2 of 3" in second and "plan-move" not in second and "–17:00" in second
    third = cell(after, "2026-03-16", world.technician.id)
    assert f'id="visit-{number}-day-3"' in third and "–11:30" in third and "day 3 of 3" in third
    month = office.get("/planner?view=month&day=2026-03-01").text
    assert [f'id="visit-{number}{day}"' in month for day in ("", "-day-2", "-day-3")] == [True] * 3
    asked = f"/visits/parts/day?booked_on=2026-03-13&technician_id={world.technician.id}"
    assert f'href="{visit}"' in office.get(asked).text
    assert f'href="{visit}"' not in office.get(asked.replace("13&", "15&")).text  # a Sunday
    assert f'href="{visit}"' in office.get("/visits?day=2026-03-16").text


def test_another_length_can_be_typed_and_is_shown(browse_as: BrowseAs, world: World, two: tuple[int, int]) -> None:
    office = browse_as(world.office)
    assert "About 30 min (25 min to 45 min) for 3" in office.get(f"/visits/{two[0]}/edit").text.replace("\u00a0", " ")
    fields = {
        "technician_id": world.technician.id, "instrument_id": world.instrument_id, "booked_on": "2026-03-10",
        "booked_time": "09:00", "version": 1,
    }  # fmt: skip
    clash = office.post(f"/visits/{two[0]}", fields | {"minutes": 125})
    assert clash.status_code == 422 and "is booked from 11:00 to 12:00" in clash.text
    assert office.post(f"/visits/{two[0]}", fields | {"minutes": 120}).status_code == 303
    assert "2 h 00 min, as typed" in office.get(f"/visits/{two[0]}").text
