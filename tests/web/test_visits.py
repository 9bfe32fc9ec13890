"""Visits in the office: found in the list, booked beside what else is on that day, changed, started and finished."""

from datetime import timedelta

from app.actions import instruments, items, readings, visits
from app.actions.deeds import Desk
from app.actions.remedies import put_right
from app.rules.instruments import InstrumentDetails
from app.rules.remedies import Change, PutRight
from app.rules.visits import NotTested
from app.store.paper_facts import facts_for_certificate
from app.store.visits import get_visit, list_visits
from tests.cast import BrowseAs, Clock, World
from tests.finished_visits import GOOD, LOOKED_AT, earth, work_through
from tests.questions import hearing
from tests.web.page_text import fields_of, words_of
from tests.web.visit_sheets import begin


def booking(world: World, **other: str) -> dict[str, str]:
    fields = {
        "premises_id": str(world.premises_id),
        "technician_id": str(world.technician.id),
        "instrument_id": str(world.instrument_id),
        "booked_on": "2026-03-12",
        "booked_time": "9:30",
        "note": "Ask for the caretaker.",
    }
    return fields | other


def test_the_list_is_searched_and_narrowed(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    browse.post("/visits", booking(world))
    everything = words_of(browse.get("/visits"))
    assert everything.index("Thu 12 Mar 2026, 09:30") < everything.index("Today"), "the newest day comes first"
    for question, found, left_out in (
        ({"q": "saltgate zz1"}, "Saltgate Brewery main site", "Brackenhow Primary School main site"),
        ({"day": "2026-03-12"}, "Brackenhow Primary School main site", "Saltgate Brewery main site"),
        ({"technician": str(world.technician.id)}, "Saltgate Brewery main site", "No visit found"),
    ):
        words = words_of(browse.get("/visits", params=question))
        assert found in words, question
        assert left_out not in words, question
    assert "No visit found" in words_of(browse.get("/visits", params={"state": "cancelled"}))
    assert "No visit found" in words_of(browse.get("/visits", params={"technician": str(world.owner.id)}))


def test_a_technician_sees_own_visits_first_and_can_see_all(browse_as: BrowseAs, world: World) -> None:
    browse_as(world.office).post("/visits", booking(world, technician_id=str(world.owner.id), booked_on="2026-03-20"))
    browse = browse_as(world.technician)
    assert "20 Mar 2026" not in words_of(browse.get("/visits"))
    assert "20 Mar 2026" in words_of(browse.get("/visits", params={"technician": ""}))
    assert "Book a visit" not in words_of(browse.get("/visits"))


def test_the_list_shows_how_far_a_visit_is(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    begin(desk, world)
    with desk.doing(world.technician) as deed:
        readings.leave_item(deed, world.visit_id, world.item_ids[0], NotTested.NOT_FOUND)
    words = words_of(browse_as(world.office).get("/visits", params={"state": "under way"}))
    assert "1 of 3 0 under way" in words


def test_premises_are_chosen_when_none_are_given(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    assert "Saltgate Brewery main site" in words_of(browse.get("/visits/new"))
    words = words_of(browse.get("/visits/new", params={"q": "brackenhow"}))
    assert "Brackenhow Primary School main site" in words
    assert "Saltgate" not in words
    assert "No premises found" in words_of(browse.get("/visits/new", params={"q": "nowhere"}))


def test_the_form_says_what_else_is_on_that_day(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    page = browse.get("/visits/new", params={"premises": world.premises_id})
    assert fields_of(page)["technician_id"] == str(world.technician.id), "the only technician"
    assert "Blue tester, calibrated until 24 Nov 2026" in words_of(page)
    assert "Also on Wed 4 Mar 2026 No time set: Brackenhow Primary School main site" in words_of(page)
    asked = {"booked_on": "2026-03-05", "technician_id": str(world.technician.id)}
    assert "Also on" not in words_of(browse.get("/visits/parts/day", params=asked))
    asked["booked_on"] = "2026-03-04"
    assert "Saltgate Brewery main site , Saltgate Brewery (Joss Alder)" in words_of(
        browse.get("/visits/parts/day", params=asked)
    )
    assert browse.get("/visits/parts/day", params={"booked_on": "soon", "technician_id": "x"}).status_code == 200


def test_a_visit_is_booked(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    answer = browse.post("/visits", booking(world))
    assert answer.status_code == 303
    words = words_of(browse.get(answer.headers["location"]))
    assert "Thu 12 Mar 2026, 09:30" in words
    assert "Ask for the caretaker." in words
    assert "The visit can be started on Thu 12 Mar 2026." in words


def test_mistakes_in_a_booking_keep_what_was_typed(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    wrong = booking(world, booked_on="31/2/2026", booked_time="quarter past", technician_id="", instrument_id="999")
    answer = browse.post("/visits", wrong)
    assert answer.status_code == 422
    words = words_of(answer)
    for sentence in ("Give a date such as 4/3/2026.", "Give a time such as 9:30.", "Choose who goes."):
        assert sentence in words
    assert fields_of(answer)["booked_time"] == "quarter past"
    assert fields_of(answer)["note"] == "Ask for the caretaker."
    with desk.reading_only() as session:
        assert len(list_visits(session)) == 2


def test_the_form_warns_of_an_instrument_that_will_be_out_of_calibration(browse_as: BrowseAs, world: World) -> None:
    late = booking(world, booked_on="2026-12-01")
    office = browse_as(world.office)
    part = office.get("/visits/parts/day", params=late)
    assert "holds until 24 November 2026 only" in words_of(part)
    assert "The visit can be booked, but not started until that is put right, or the owner allows it." in words_of(part)
    assert "allow_reason" not in fields_of(part), "the office is not asked for what it cannot give"
    answer = office.post("/visits", late)
    assert answer.status_code == 303
    assert "Only the owner can allow it" in words_of(office.get(answer.headers["location"]))
    forged = office.post("/visits", late | {"allow_reason": "I say so.", "booked_time": "18:00"})
    assert forged.status_code == 409
    assert "Only the owner can allow it" in words_of(forged)
    owner = browse_as(world.owner)
    assert "allow_reason" in fields_of(owner.get("/visits/parts/day", params=late))
    late = late | {"booked_time": "15:00"}  # the office's own booking holds the morning
    answer = owner.post("/visits", late | {"allow_reason": "Comes back from the laboratory that morning."})
    assert answer.status_code == 303
    words = words_of(owner.get(answer.headers["location"]))
    assert "Ines Tarn, 4 March 2026: Comes back from the laboratory that morning." in words
    assert "Only the owner can allow it" not in words


def test_a_booking_is_changed_but_not_over_somebody_elses_change(browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/visits/{world.visit_id}"
    first = fields_of(browse.get(f"{address}/edit"))
    assert browse.post(address, first | {"booked_time": "14:00"}).status_code == 303
    assert browse.post(address, first | {"booked_time": "15:00"}).status_code == 409
    assert "14:00" in words_of(browse.get(address))
    assert browse.post(address, first | {"version": "", "booked_on": ""}).status_code == 422


def test_starting_opens_the_sheet(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.technician)
    assert "Start the visit" in words_of(browse.get(f"/visits/{world.visit_id}"))
    answer = browse.post(f"/visits/{world.visit_id}/start")
    assert answer.headers["location"] == f"/visits/{world.visit_id}/sheet"
    assert "0 of 3 items done" in words_of(browse.get(answer.headers["location"]))
    assert browse.post(f"/visits/{world.visit_id}/start").status_code == 409


def test_only_the_owner_lets_a_visit_start_with_an_instrument_out_of_calibration(
    desk: Desk, browse_as: BrowseAs, world: World, clock: Clock
) -> None:
    with desk.doing(world.owner) as deed:
        spare = instruments.add_instrument(deed, InstrumentDetails("Spare", "T-1"))
        get_visit(deed.session, world.visit_id).instrument_id = spare.id
    address = f"/visits/{world.visit_id}"
    for person in (world.technician, world.office):
        browse = browse_as(person)
        page = browse.get(address)
        assert "Spare has no calibration on record. Only the owner can allow it" in words_of(page)
        assert "allow_reason" not in fields_of(page)
        assert "Start the visit" not in words_of(page)
        assert "Start the visit" not in words_of(browse.get("/")) or person is world.technician
        for fields in ({}, {"allow_reason": "I say so."}):
            answer = browse.post(f"{address}/start", fields)
            assert answer.status_code == 409
            assert "Only the owner can allow it" in words_of(answer)
        assert browse.post(f"{address}/allow-instrument", {"allow_reason": "I say so."}).status_code == 403
    owner = browse_as(world.owner)
    assert "allow_reason" in fields_of(owner.get(address))
    answer = owner.post(f"{address}/start")
    assert answer.status_code == 422
    assert 'id="f-allow_reason-mistake"' in answer.text
    with desk.reading_only() as session:
        assert get_visit(session, world.visit_id).state == "booked"
    reason = {"allow_reason": "The blue one broke; calibration follows."}
    assert owner.post(f"{address}/start", reason).status_code == 303
    assert "The owner has allowed its use." in words_of(owner.get(address))


def test_a_visit_is_not_started_before_its_day(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    answer = browse_as(world.office).post("/visits", booking(world))
    answer = browse_as(world.technician).post(f"{answer.headers['location']}/start")
    assert answer.status_code == 409
    assert "booked for 12 March 2026" in words_of(answer)


def test_finishing_waits_for_every_item(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    begin(desk, world)
    browse, address = browse_as(world.technician), f"/visits/{world.visit_id}"
    assert "Finish the visit" not in words_of(browse.get(address))
    answer = browse.post(f"{address}/finish")
    assert answer.status_code == 409
    assert "3 of 3 items are still open" in words_of(answer)
    with desk.doing(world.technician) as deed:
        for item_id in world.item_ids:
            readings.leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND, "Store was locked")
    assert "Finish the visit" in words_of(browse.get(address))
    assert browse.post(f"{address}/finish").status_code == 303
    words = words_of(browse.get(address))
    assert "3 not tested" in words
    assert "not found: Store was locked" in words
    assert "Papers" not in words, "papers are for the office"
    assert "Papers" in words_of(browse_as(world.office).get(address))


def test_cancelling_needs_a_reason(browse_as: BrowseAs, world: World) -> None:
    browse, address = browse_as(world.office), f"/visits/{world.visit_id}"
    answer = browse.post(f"{address}/cancel", {"reason": "  "})
    assert answer.status_code == 422
    assert "Say why the visit is cancelled." in words_of(answer)
    assert '<details class="confirm" open>' in answer.text
    assert browse.post(f"{address}/cancel", {"reason": "The school is closed."}).status_code == 303
    assert "This visit was cancelled: The school is closed." in words_of(browse.get(address))
    assert browse.post(f"{address}/start").status_code == 409
    assert browse.get(f"{address}/edit").headers["location"] == address


def test_a_visit_that_is_not_there_is_not_found(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    for address in (
        "/visits/999",
        "/visits/nine",
        f"/visits/{10**20}",
        f"/visits/1/items/{10**20}",
        "/visits/999/sheet",
        "/visits/new?premises=999",
    ):
        assert browse.get(address).status_code == 404, address


def test_the_calendar_of_days_is_narrowed_by_day(browse_as: BrowseAs, world: World, clock: Clock) -> None:
    browse = browse_as(world.office)
    tomorrow = (clock.today + timedelta(days=1)).isoformat()
    assert "No visit found" in words_of(browse.get("/visits", params={"day": tomorrow}))
    assert "Saltgate" in words_of(browse.get("/visits", params={"day": clock.today.isoformat()}))


def test_page_and_paper_of_a_visit_ask_no_more_for_many_items(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    """A visit of hundreds of items must not ask the database for each: half of them failed, one was put right."""
    bad = ([LOOKED_AT, earth("0.42")], *GOOD[1:])
    work_through(desk, world.technician, world.visit_id, bad)
    with desk.doing(world.office) as deed:
        more = [items.copy_item(deed, world.other_item_ids[0]).id for _ in range(5)]
        visits.start_visit(deed, world.other_visit_id)
        for item_id, entries in zip([*world.other_item_ids, *more], [*bad, *bad[:1] * 5], strict=True):
            readings.record_item(deed, world.other_visit_id, item_id, entries)
        put_right(deed, world.other_visit_id, more[0], PutRight(Change.OTHER, words="The earth tightened"))
        readings.record_item(deed, world.other_visit_id, more[0], GOOD[0])
        visits.finish_visit(deed, world.other_visit_id)
    browse = browse_as(world.technician)
    pages, papers = [], []
    for visit_id in (world.visit_id, world.other_visit_id):
        with hearing(browse.app.state.desk) as asked:
            assert browse.get(f"/visits/{visit_id}").status_code == 200
        pages.append(asked)
        with hearing(desk) as asked, desk.reading_only() as session:
            facts_for_certificate(
                session, visit_id, number="C-1", code="x", address="", by=world.owner, now=desk.now, today=desk.today
            )
        papers.append(asked)
    # What was put right takes a few more, whatever the number of items.
    for few, many in (pages, papers):
        assert len(many) - len(few) <= 3, many
