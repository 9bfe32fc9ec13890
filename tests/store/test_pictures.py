"""What pictures are made of, against the same counted one row at a time in Python, on both databases."""

from datetime import date, timedelta
from decimal import Decimal

from app.actions import instruments, invoices, payments, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.actions.remedies import put_right
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.instruments import CalibrationDetails
from app.rules.remedies import Change, PutRight
from app.rules.verdicts import Outcome
from app.rules.visits import Booking
from app.store.evidence import list_failure_counts
from app.store.items import get_item
from app.store.pictures import (
    count_due_by_day,
    count_failures,
    count_invoiced_by_day,
    count_received_by_day,
    list_causes,
    list_defect_spans,
    list_due_work_by_day,
    list_failures_by_kind,
    list_tested_work_by_day,
)
from app.store.stories import facts_of_story
from tests.cast import Clock, World
from tests.finished_visits import GOOD, LOOKED_AT, earth, work_through

BROKEN = [Entry(Check.VISUAL, outcome=Outcome.FAIL, point="plug-body", note="Plug cracked")]


def visit(desk: Desk, world: World) -> int:
    with desk.doing(world.owner) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
        return visits.book_visit(deed, booking).id


def test_failures_and_causes_as_they_were_found(desk: Desk, world: World, clock: Clock) -> None:
    """A year ago the kettle's earth failed and the drill was broken; now the kettle passes and the lead's plug is
    cracked, and put right on the spot: it counts as failed for all that.
    """
    high = [LOOKED_AT, earth("3.2")]
    work_through(desk, world.technician, visit(desk, world), (high, BROKEN, GOOD[2]))
    first_day = desk.today
    clock.pass_time(days=400)
    with desk.doing(world.owner) as deed:
        held = CalibrationDetails(desk.today, desk.today + timedelta(days=365), "CAL-27-0007")
        instruments.add_calibration(deed, world.instrument_id, held)
        for item_id in world.item_ids:
            get_item(deed.session, item_id).own_checks = ["visual"]
    fine = [Entry(Check.VISUAL, outcome=Outcome.PASS)]
    visit_id = visit(desk, world)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, visit_id)
        kettle, _, lead = world.item_ids
        record_item(deed, visit_id, kettle, [*fine, earth("0.09")])  # what failed is repeated
        record_item(deed, visit_id, lead, BROKEN)
        put_right(deed, visit_id, lead, PutRight(Change.PLUG))
        record_item(deed, visit_id, lead, fine)
    today = desk.today
    with desk.reading_only() as session:
        assert count_failures(session, first_day, first_day) == (2, 3)
        assert count_failures(session, today, today) == (1, 2)
        assert count_failures(session, first_day, today, world.customer_id) == (3, 3)
        assert count_failures(session, first_day, today, world.other_customer_id) == (0, 0)
        assert sorted(list_failures_by_kind(session, first_day, today)) == [
            ("appliance", 2, 2),
            ("extension-lead", 1, 1),
        ]
        assert {row[:2] for row in list_causes(session, first_day, first_day)} == {
            ("visual", "plug-body"), ("protective-conductor-resistance", ""),
        }  # fmt: skip
        assert list_causes(session, today, today) == [("visual", "plug-body", lead)]
        # The evidence for intervals sees the same.
        counts = list_failure_counts(session, first_day)
        assert (sum(row.items for row in counts), sum(row.failed_items for row in counts)) == (3, 3)
        tested = sorted(list_tested_work_by_day(session, first_day))
        assert [(day, kind, count) for day, kind, count in tested] == [
            (first_day, "appliance", 2), (first_day, "extension-lead", 1), (today, "appliance", 1),
            (today, "extension-lead", 1),
        ]  # fmt: skip
        due = count_due_by_day(session)
        items = [get_item(session, item_id) for item_id in (*world.item_ids, *world.other_item_ids)]
        told = [item.next_due_on for item in items if item.state == "in use" and item.next_due_on]
        assert due == {day: told.count(day) for day in told}
        by_kind = list_due_work_by_day(session)
        assert sum(count for _, _, count in by_kind) == len(told)
        spans = list_defect_spans(session, world.customer_id)
        assert [found for found, _ in spans][:2] == [first_day, first_day]
        story = facts_of_story(session, world.customer_id, today)
        assert [(year.visits, year.tested, year.failed) for year in story.years] == [(0, 0, 0), (1, 3, 2), (0, 2, 1)]
        assert (story.failed, story.items) == (3, 3)


def test_money_by_day(desk: Desk, world: World) -> None:
    visit_id = visit(desk, world)
    work_through(desk, world.technician, visit_id)
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, visit_id).id
    invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, invoice_id, desk.today, 1234)
        removed = payments.record_payment(deed, invoice_id, desk.today, 99)
        payments.remove_payment(deed, removed.id, "Entered twice")
    with desk.reading_only() as session:
        since = desk.today - timedelta(days=1)
        # £60.00 at the least, and 20 % VAT.
        assert count_invoiced_by_day(session, since) == {desk.today: int(Decimal("60.00") * 120)}
        assert count_received_by_day(session, since) == {desk.today: 1234}
        assert count_invoiced_by_day(session, date(2030, 1, 1)) == {}
