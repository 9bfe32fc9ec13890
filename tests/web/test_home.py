"""The home page: by role, in words and figures, and the first steps of a brand-new firm."""

import re
from datetime import timedelta

import pytest

from app.actions import (
    customers,
    instruments,
    invoices,
    items,
    letters,
    payments,
    people,
    planners,
    premises,
    prices,
    recalls,
    visits,
)
from app.actions.deeds import Desk
from app.rules.customers import CustomerDetails, PremisesDetails
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.items import ItemDetails
from app.rules.mail_texts import MailKind, MailText
from app.rules.people import PersonDetails, Role
from app.rules.visits import Booking
from app.store.items import get_item
from app.store.letters import list_recalls_due
from app.store.people import list_people
from app.store.planning_settings import get_planning_settings
from app.store.premises import get_premises
from app.store.recalls import list_recall_hits
from tests.cast import KETTLE, PASSWORD, BrowseAs, Clock, World
from tests.store.test_overviews import finish, issue_invoice
from tests.web.test_set_up import FIELDS, at_set_up


def figures_of(page: str) -> dict[str, str]:
    """The figures at the top: word and count."""
    found = re.findall(r'figure-count">([^<]*)</span>\s*<span class="figure-word">([^<]*)<', page)
    return {word: count for count, word in found}


def order_of(page: str, *words: str) -> list[str]:
    """The words in the order in which they stand on the page."""
    assert all(word in page for word in words), [word for word in words if word not in page]
    return sorted(words, key=page.index)


def test_a_technician_sees_the_own_visits_first_and_starts_with_one_press(
    browse_as: BrowseAs, world: World, desk: Desk
) -> None:
    with desk.doing(world.office) as deed:
        early = Booking(world.premises_id, world.owner.id, world.instrument_id, desk.today)
        visits.book_visit(deed, early)
    browse = browse_as(world.technician)
    page = browse.get("/").text
    assert figures_of(page)["visits today"] == "3"
    start = f'action="/visits/{world.visit_id}/start"'
    assert start in page and page.count("/start") == 2, "two are the technician's own"
    assert page.index(start) < page.rindex("Ines Tarn")
    assert browse.post(f"/visits/{world.visit_id}/start").status_code == 303
    page = browse.get("/").text
    assert f'href="/visits/{world.visit_id}/sheet"' in page and start not in page
    assert "0 of 3\xa0items done" in page


def test_a_visit_whose_instrument_is_out_of_calibration_is_not_started_by_one_press(
    browse_as: BrowseAs, world: World, clock: Clock
) -> None:
    """Starting it asks for a reason, so home leads to the visit instead."""
    clock.pass_time(days=266)
    page = browse_as(world.technician).get("/").text
    assert "Left open from earlier days" in page and f'href="/visits/{world.visit_id}"' in page
    assert "/start" not in page
    assert "holds until" in page


@pytest.mark.parametrize(("days", "said"), [(234, False), (235, True), (265, True)])
def test_an_instrument_is_named_from_thirty_days_before_its_calibration_ends(
    browse_as: BrowseAs, world: World, clock: Clock, days: int, said: bool
) -> None:
    clock.pass_time(days=days)
    page = browse_as(world.technician).get("/").text
    assert ("Runs out" in page) == said
    assert ("is calibrated for more than 30 days to come" in page) != said


def test_what_is_overdue_can_be_booked_by_whom_booking_is_for(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "the school is closed")
        for item_id, days in zip(world.item_ids, (-20, -1, 9), strict=True):
            get_item(deed.session, item_id).next_due_on = desk.today + timedelta(days=days)
    book = f'href="/visits/new?premises_id={world.premises_id}"'
    for person, may_book in ((world.owner, True), (world.office, True), (world.technician, False)):
        page = browse_as(person).get("/").text
        assert figures_of(page)["items overdue"] == "2"
        assert "2\xa0items overdue since 12\xa0Feb\xa02026, 1 due within 30 days" in page
        assert (book in page) == may_book
    booked = browse_as(world.office).get(f"/visits/new?premises_id={world.premises_id}")
    assert "Brackenhow Primary School main site" in booked.text


def test_the_office_sees_what_waits_for_it(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    finish(desk, world, world.visit_id)
    finish(desk, world, world.other_visit_id)
    with desk.doing(world.office) as deed:
        draft = invoices.draft_invoice(deed, world.other_visit_id)
    for person in (world.owner, world.office):
        page = browse_as(person).get("/").text
        assert "Certificates to issue" in page and "Invoice to make" in page and "Draft invoice to issue" in page
        assert page.count(f'href="/visits/{world.visit_id}"') == 3, "today's visit, its certificate, its invoice"
        assert page.count(f'href="/invoices/{draft.id}"') == 1
        assert figures_of(page)["open defects"] == "2"
    page = browse_as(world.technician).get("/").text
    assert "Waiting for somebody" not in page and figures_of(page)["open defects"] == "2"


def waiting_on(page: str) -> list[tuple[int, str, str]]:
    """The lines of what waits in the office: count, words, where it is done."""
    found = re.findall(r'<a href="([^"]+)"><span class="waiting-count">(\d+)</span>([^<]+)</a>', page)
    return [(int(count), word, href) for href, count, word in found]


def test_what_waits_in_the_office_is_counted_as_the_lists_have_it(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    """Each count is that of the list to which its line leads; who does not work in the office sees none."""
    office = browse_as(world.office)
    assert waiting_on(office.get("/").text) == [
        (2, "visits coming up without a reminder", "/letters#coming"),
        (2, "bookings not confirmed", "/letters#confirm"),
    ]
    with desk.doing(world.office) as deed:
        for kind, visit_id in ((MailKind.BOOKING, world.visit_id), (MailKind.COMING, world.visit_id)):
            text = MailText("We come", "Dear Ada,\n\nwe come soon.")
            letters.send_visit_letter(deed, desk, visit_id, kind, "", text, printed=True)
        visits.cancel_visit(deed, world.other_visit_id, "The brewery moves")
        planners.want_visit(deed, world.other_premises_id, desk.today - timedelta(days=1))
        content = b"Make,Model,Risk\nHobbin,HK 220,Fire\n"
        list_id = recalls.upload_recall_list(deed, "January", content).id
        recalls.take_in_recall_list(deed, list_id, {"make": 0, "model": 1, "hazard": 2})
        details = ItemDetails("", "Kettle", world.location_id, make="Hobin", model="HK220", facts=KETTLE)
        items.add_item(deed, details)
        get_item(deed.session, world.other_item_ids[0]).next_due_on = desk.today + timedelta(days=42)
    assert waiting_on(office.get("/").text) == [
        (1, "item may be recalled", "/recalls"),
        (1, "agreed visit not booked in time", "/planner"),
        (1, "premises to write to about tests that fall due", "/letters#recalls"),
    ]
    assert waiting_on(browse_as(world.technician).get("/").text) == []
    with desk.doing(world.office) as deed:
        place = get_premises(deed.session, world.other_premises_id)
        _, text = letters.write_recall(deed.session, place, "Bea Holm", desk)
        letters.send_recall(deed, desk, place.id, "", text, printed=True)
        recalls.dismiss_hit(deed, list_recall_hits(deed.session)[0].id, "Another make")
        planners.drop_wanted_visit(deed, 1, "They asked another firm")
    page = office.get("/").text
    assert waiting_on(page) == [] and "every finished visit has its papers, no letter is to be written" in page
    for days in (28, 1):  # within 28 days of a letter none is asked for; the day counts as on the list of letters
        clock.pass_time(days=days)
        with desk.reading_only() as session:
            on_list = len(list_recalls_due(session, get_planning_settings(session), desk.today))
        told = [count for count, word, _ in waiting_on(browse_as(world.office).get("/").text) if "fall due" in word]
        assert told == ([on_list] if on_list else []) and on_list == (days == 1)


def test_money_that_is_late_is_shown_to_whom_money_is_for(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    """£60.00, the least that the firm of the cast charges, and 20 % VAT make £72.00; £12.34 of it is paid."""
    finish(desk, world, world.visit_id)
    invoice_id = issue_invoice(desk, world, world.visit_id)
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, invoice_id, desk.today, 1234)
    clock.pass_time(days=30)
    assert figures_of(browse_as(world.office).get("/").text)["overdue"] == "£0.00"
    clock.pass_time(days=1)
    page = browse_as(world.office).get("/").text
    assert figures_of(page)["overdue"] == "£59.66" and "1\xa0invoice" in page
    assert f'href="/invoices/{invoice_id}"' in page and "due 3\xa0Apr\xa02026" in page
    assert browse_as(world.office).get("/invoices?state=overdue").text.count(f'href="/invoices/{invoice_id}"') >= 1
    assert "£" not in browse_as(world.technician).get("/").text


def test_a_brand_new_firm_is_shown_its_first_steps_and_ticks_them(browse_as: BrowseAs, desk: Desk) -> None:
    browse = at_set_up(browse_as(None))
    browse.post("/set-up", FIELDS)
    with desk.database.reading() as session:
        owner = list_people(session)[0].as_person
    links = ["/prices", "/instruments/new", "/customers/new", "/visits/new"]

    def done() -> int:
        page = browse.get("/").text
        assert "figure-count" not in page, "no figures of nothing"
        return page.count("Done:")

    page = browse.get("/").text
    assert order_of(page, *(f'href="{link}"' for link in links)) == [f'href="{link}"' for link in links]
    assert done() == 0
    for link in links:
        assert browse.get(link).status_code in (200, 303), f"{link}: a dead end"
    with desk.doing(owner) as deed:
        prices.agree_prices(deed, None, desk.today, 135)
        instrument = instruments.add_instrument(deed, InstrumentDetails("Blue tester", "T-1"))
        customer = customers.add_customer(deed, CustomerDetails("Saltgate Brewery"))
    assert done() == 1, "an instrument without calibration and a customer without premises do not do yet"
    assert f'href="/instruments/{instrument.id}"' in browse.get("/").text
    with desk.doing(owner) as deed:
        details = CalibrationDetails(desk.today - timedelta(days=1), desk.today + timedelta(days=364), "CAL-1")
        instruments.add_calibration(deed, instrument.id, details)
        place = premises.add_premises(deed, customer.id, PremisesDetails("Brewhouse", "1 Quay Street"))
    assert done() == 3
    with desk.doing(owner) as deed:
        visits.book_visit(deed, Booking(place.id, owner.id, instrument.id, desk.today))
    assert "Today’s visits" in browse.get("/").text


def test_the_office_of_a_new_firm_is_not_sent_to_the_prices(browse_as: BrowseAs, desk: Desk) -> None:
    at_set_up(browse_as(None)).post("/set-up", FIELDS)
    with desk.doing(None) as deed:
        office = people.add_person(
            deed, PersonDetails("Bea Holm", "bea@tarn-alder.example", Role.OFFICE, "BH"), PASSWORD
        )
        joss = PersonDetails("Joss Alder", "joss@tarn-alder.example", Role.TECHNICIAN, "JA")
        technician = people.add_person(deed, joss, PASSWORD)
    page = browse_as(office).get("/").text
    assert 'href="/instruments/new"' in page and "/prices" not in page
    page = browse_as(technician).get("/").text
    assert "No visit is booked for today" in page and "/new" not in page


def test_names_are_text_whatever_they_hold(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    hostile = "<script>alert('1')</script>{{7*7}}"
    with desk.doing(world.office) as deed:
        customer = customers.add_customer(deed, CustomerDetails(hostile))
        place = premises.add_premises(deed, customer.id, PremisesDetails(hostile, "1 Quay Street", hostile))
        location = premises.add_location(deed, place.id, "Hall")
        items.add_item(deed, ItemDetails("", "Kettle", location.id))
        visits.book_visit(deed, Booking(place.id, world.technician.id, world.instrument_id, desk.today))
    page = browse_as(world.owner).get("/").text
    assert "<script>alert" not in page and "{{7*7}}" in page
