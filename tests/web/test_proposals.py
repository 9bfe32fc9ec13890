"""The pages of booking proposals and of what they go by: from the list of what is due to booked visits."""

import re
from datetime import date, timedelta

from app.actions.deeds import Desk
from app.actions.proposals import ask_for_proposals
from app.actions.visits import cancel_visit
from app.store.items import get_item
from app.store.people import get_person
from app.store.proposals import get_proposal_run
from app.store.visits import list_visits
from app.store.working_times import find_access_times, find_booking_rules, find_working_times, list_days_off
from tests.cast import Browse, BrowseAs, Clock, World


def fall_due(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        for item_id in (*world.item_ids, *world.other_item_ids):
            get_item(deed.session, item_id).next_due_on = deed.today + timedelta(days=9)
        for visit in list_visits(deed.session):
            cancel_visit(deed, visit.id, "for the test")


def ask(browse: Browse, world: World, **more: str) -> str:
    fields = {f"place-{world.premises_id}": "yes", f"place-{world.other_premises_id}": "yes"}
    answer = browse.post("/proposals", fields | {"begins_on": "2026-03-05", "weeks": "2", "early": "30"} | more)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_from_what_is_due_to_booked_visits(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    fall_due(desk, world)
    office = browse_as(world.office)
    assert f'name="place-{world.premises_id}"' in office.get("/due").text
    chosen = office.get(f"/proposals/new?place-{world.premises_id}=yes").text
    assert len(re.findall(r'name="place-\d+" value="yes" checked', chosen)) == 1
    assert "Travel is an estimate from straight lines" in chosen
    place = ask(office, world)
    shown = office.get(place).text  # worked out by now: the tests wait for what comes after an answer
    assert "Travel is an estimate" in shown and "Worked out by a solver" in shown
    assert "Due on that very day, 13 Mar 2026." in shown
    assert shown.count("Due on that very day") == 2 and "£" not in shown
    booked = office.post(f"{place}/book", {"which": "all"})
    assert booked.headers["location"] == place
    with desk.database.reading() as session:
        days = [visit.booked_on for visit in list_visits(session, state="booked")]
    assert days == [date(2026, 3, 13)] * 2
    assert office.get(place).text.count(">Booked</a>") == 2
    again = office.post(f"{place}/book", {"which": "all"})
    assert again.status_code == 422 and "Tick at least one visit that is not booked yet." in again.text


def test_a_visit_put_elsewhere_by_hand_shows_what_stands_against_it(
    browse_as: BrowseAs, world: World, desk: Desk
) -> None:
    fall_due(desk, world)
    office = browse_as(world.office)
    place = ask(office, world)
    with desk.database.reading() as session:
        one, other = (row.id for row in get_proposal_run(session, int(place.rsplit("/", 1)[1])).proposals)
    by_hand = {"technician_id": str(world.technician.id), "instrument_id": str(world.instrument_id)}
    mistaken = office.post(f"{place}/{one}", by_hand | {"day": "2026-03-15", "technician_id": "999"})
    assert mistaken.status_code == 422
    assert "Give the time at which it begins." in mistaken.text and "Choose one of these." in mistaken.text
    assert 'value="2026-03-15"' in mistaken.text  # what was typed is still there
    for proposal_id, start in ((one, "09:00"), (other, "9:05")):
        assert (
            office.post(f"{place}/{proposal_id}", by_hand | {"day": "15/3/2026", "starts_at": start}).status_code == 303
        )
    shown = office.get(f"{place}/parts/answer").text
    assert "Conflict: Joss Alder does not work on a Sunday." in shown
    assert "Cannot be booked: Joss Alder is at" in shown and "Placed by hand by Bea Holm." in shown
    refused = office.post(f"{place}/book", {f"proposal-{one}": "yes", f"proposal-{other}": "yes"})
    assert refused.status_code == 409 and "Nothing was booked." in refused.text
    assert office.post(f"{place}/book", {f"proposal-{one}": "yes"}).status_code == 303


def test_what_cannot_be_asked_is_told_and_what_was_ticked_stays(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    fall_due(desk, world)
    office = browse_as(world.office)
    answer = office.post("/proposals", {f"place-{world.premises_id}": "yes", "begins_on": "2026-03-04", "weeks": "2"})
    assert answer.status_code == 422 and "Proposals begin tomorrow or later." in answer.text
    assert len(re.findall(r'name="place-\d+" value="yes" checked', answer.text)) == 1
    assert "Tick at least one of the premises." in office.post("/proposals", {"begins_on": "2026-03-06"}).text
    assert office.post("/proposals", {"begins_on": "2026-03-06", "place-77": "yes"}).status_code == 404
    assert "Nothing asked yet" in office.get("/proposals").text


def test_the_office_keeps_hours_access_and_rules(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    office = browse_as(world.office)
    person, premises = world.technician.id, world.premises_id
    hours = {"day-0": "9-17", "day-1": "8:00-12:30", "skill-microwave": "yes", "week_hours_most": "30"}
    assert office.post(f"/working-times/{person}", hours).status_code == 303
    wrong = office.post(f"/working-times/{person}", {"day-0": "late"})
    assert wrong.status_code == 422 and "Give a beginning and an end" in wrong.text
    assert office.post(f"/working-times/{person}/days-off", {"first_on": "2026-03-09"}).status_code == 303
    twisted = office.post(f"/working-times/{person}/days-off", {"first_on": "2026-03-09", "last_on": "2026-03-01"})
    assert twisted.status_code == 422 and "The last day comes after the first" in twisted.text
    access = {"day-2": "10-12", "latitude": "54.48, -2.36", "region": "scotland"}
    assert office.post(f"/premises/{premises}/access-times", access).status_code == 303
    lost = office.post(f"/premises/{premises}/access-times", {"latitude": "north"})
    assert lost.status_code == 422 and "Give degrees from −90 to 90" in lost.text
    ways = f"/premises/{premises}/travel-times"
    assert office.post(ways, {"other_id": "0", "minutes": "33"}).status_code == 303
    assert office.post(ways, {"other_id": str(premises), "minutes": "x"}).status_code == 422
    assert "<strong>35 minutes</strong>" in office.get(f"/premises/{premises}/access-times").text
    rules = {
        "day-0": "8-16",
        "region": "northern-ireland",
        "road_factor": "1,3",
        "speed_mph": "30",
        "free_percent": "0",
    }
    assert office.post("/booking-rules", rules).status_code == 303
    refused = office.post("/booking-rules", {"region": "northern-ireland", "road_factor": "0"})
    assert refused.status_code == 422 and "Give a number from 1 to 5." in refused.text
    with desk.database.reading() as session:
        times, there = find_working_times(session, person), find_access_times(session, premises)
        kept = find_booking_rules(session)
        assert times is not None and times.hours == {"0": "09:00-17:00", "1": "08:00-12:30"}
        assert (times.skills, times.week_hours_most) == (["microwave"], 30)
        assert there is not None and there.facts.week is not None and there.facts.week[2] == (600, 720)
        assert (str(there.latitude), str(there.longitude), there.region) == ("54.48", "-2.36", "scotland")
        assert kept is not None and (str(kept.road_factor), kept.free_percent) == ("1.3", 0)
        assert [row.first_on for row in list_days_off(session, desk.today, person)] == [date(2026, 3, 9)]
        assert get_person(session, person).name in office.get("/booking-rules").text
    stale = office.post("/booking-rules", rules | {"version": "0"})
    assert stale.status_code == 409 and "Somebody else has changed the booking rules" in stale.text


def test_a_question_that_a_crash_left_waiting_can_be_asked_again(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    fall_due(desk, world)
    with desk.doing(world.office) as deed:
        run_id = ask_for_proposals(deed, [world.premises_id], deed.today + timedelta(days=1), 2, 30).id
    office = browse_as(world.office)
    assert f'hx-get="/proposals/{run_id}/parts/answer"' in office.get(f"/proposals/{run_id}").text
    clock.pass_time(minutes=5)
    shown = office.get(f"/proposals/{run_id}/parts/answer").text
    assert "could not be worked out" in shown and "hx-get" not in shown
    assert "Work it out again" in office.get(f"/proposals/{run_id}").text
    office.post(f"/proposals/{run_id}/again")
    assert "to be booked" in office.get(f"/proposals/{run_id}").text
