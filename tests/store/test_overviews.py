"""What home asks: what is open, due, overdue, and what waits for its papers."""

from datetime import timedelta

import pytest

from app.actions import certificates, invoices, items, payments, premises, visits
from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import Booking, NotTested
from app.store import overviews
from app.store.invoices import get_invoice
from app.store.items import get_item
from app.store.readings import list_visit_items
from tests.cast import Clock, World


def finish(desk: Desk, world: World, visit_id: int) -> None:
    """Do a visit: the first item fails, the others are not found."""
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, visit_id)
        for number, row in enumerate(list_visit_items(deed.session, visit_id)):
            if number == 0:
                failed = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="The plug is cracked")]
                record_item(deed, visit_id, row.item_id, failed)
            else:
                leave_item(deed, visit_id, row.item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, visit_id)


def issue_invoice(desk: Desk, world: World, visit_id: int) -> int:
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, visit_id).id
    invoices.issue_invoice(desk, world.office, invoice_id)
    return invoice_id


def test_open_visits_are_those_booked_or_under_way_up_to_a_day(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.office) as deed:
        later = Booking(world.premises_id, world.owner.id, world.instrument_id, desk.today + timedelta(days=3))
        later_id = visits.book_visit(deed, later).id
        cancelled = visits.book_visit(deed, later).id
        visits.cancel_visit(deed, cancelled, "booked twice")
    finish(desk, world, world.other_visit_id)

    def open_until(days: int) -> list[int]:
        with desk.database.reading() as session:
            return [row.id for row in overviews.list_open_visits(session, desk.today + timedelta(days=days))]

    assert open_until(-1) == []
    assert open_until(0) == [world.visit_id]
    assert open_until(7) == [world.visit_id, later_id], "the earliest first"
    clock.pass_time(days=30)
    assert open_until(0) == [world.visit_id, later_id], "what was left open is not forgotten"


def test_due_premises_count_overdue_and_soon_and_leave_out_what_is_booked(desk: Desk, world: World) -> None:
    days = (-20, 9, 31)
    with desk.doing(world.office) as deed:
        place = premises.add_location(deed, world.premises_id, "Kitchen").premises
        for item_id, day in zip(world.item_ids, days, strict=True):
            get_item(deed.session, item_id).next_due_on = desk.today + timedelta(days=day)
        name = place.name
    with desk.database.reading() as session:
        assert overviews.list_due_premises(session, desk.today) == [], "a visit is booked there"
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "the school is closed")
    with desk.database.reading() as session:
        (due,) = overviews.list_due_premises(session, desk.today)
    assert (due.premises, due.overdue, due.soon) == (name, 1, 1)
    assert due.first_due_on == desk.today - timedelta(days=20)


def test_a_due_today_is_not_yet_overdue(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "the school is closed")
        get_item(deed.session, world.item_ids[0]).next_due_on = desk.today
    with desk.database.reading() as session:
        (due,) = overviews.list_due_premises(session, desk.today)
    assert (due.overdue, due.soon) == (0, 1)


def test_a_finished_visit_waits_for_its_papers_until_they_are_issued(desk: Desk, world: World) -> None:
    def waiting() -> tuple[list[int], list[int]]:
        with desk.database.reading() as session:
            certificate = [row.id for row in overviews.list_uncertified_visits(session)]
            return certificate, [row.id for row in overviews.list_uninvoiced_visits(session)]

    visit_id = world.visit_id
    assert waiting() == ([], [])
    finish(desk, world, visit_id)
    assert waiting() == ([visit_id], [visit_id])
    certificates.issue_certificate(desk, world.office, visit_id)
    assert waiting() == ([], [visit_id])
    issue_invoice(desk, world, visit_id)
    assert waiting() == ([], [])


@pytest.mark.parametrize(("paid_part", "overdue"), [(None, True), (100, True), ("all", False)])
def test_an_invoice_is_overdue_after_its_day_while_something_is_owed(
    desk: Desk, world: World, clock: Clock, paid_part: int | str | None, overdue: bool
) -> None:
    finish(desk, world, world.visit_id)
    invoice_id = issue_invoice(desk, world, world.visit_id)
    with desk.doing(world.office) as deed:
        row = get_invoice(deed.session, invoice_id)
        due_on, gross = row.due_on, row.gross_pence
        if paid_part is not None:
            payments.record_payment(deed, invoice_id, desk.today, gross if paid_part == "all" else int(paid_part))
    assert due_on is not None

    def found() -> list[tuple[int, int]]:
        with desk.database.reading() as session:
            return [(row.id, row.owed_pence) for row in overviews.list_overdue_invoices(session, desk.today)]

    clock.pass_time(days=(due_on - desk.today).days)
    assert found() == [], "its last day is still in time"
    clock.pass_time(days=1)
    owed = gross - (int(paid_part) if isinstance(paid_part, int) else 0)
    assert found() == ([(invoice_id, owed)] if overdue else [])


def test_open_defects_are_counted_until_the_item_is_gone(desk: Desk, world: World) -> None:
    def count() -> int:
        with desk.database.reading() as session:
            return overviews.count_defects(session)

    assert count() == 0
    finish(desk, world, world.visit_id)
    finish(desk, world, world.other_visit_id)
    assert count() == 2
    with desk.doing(world.office) as deed:
        items.withdraw_item(deed, world.item_ids[0], "scrapped")
    assert count() == 1
