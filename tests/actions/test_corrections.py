"""Corrections: kept in the journal with both values, and after the end only at a visit reopened with a reason."""

from decimal import Decimal

import pytest

from app.actions import visits
from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.draft_renewals import renew_draft
from app.actions.invoices import DraftLine, change_draft, draft_invoice, issue_invoice
from app.actions.readings import leave_item, record_item
from app.rules.items import ItemState
from app.rules.verdicts import Mistakes, Refused, Verdict
from app.rules.visits import Booking, NotTested, VisitState
from app.store.certificates import get_certificate
from app.store.items import get_item
from app.store.journal import list_journal
from app.store.readings import get_visit_item
from app.store.visits import get_visit
from tests.cast import Clock, World
from tests.finished_visits import GOOD, INSULATED, LOOKED_AT, begin_worked_through, earth, work_through

BAD_KETTLE = [LOOKED_AT, earth("0.21")]


@pytest.fixture
def finished(desk: Desk, world: World, clock: Clock) -> World:
    """The visit finished with three passes; its day is over."""
    begin_worked_through(desk, world.technician, world.visit_id)
    clock.pass_time(days=2)
    return world


def newest(desk: Desk, subject: str, subject_id: int) -> str:
    with desk.reading_only() as session:
        return list_journal(session, subject, subject_id)[0].sentence


def reopen(desk: Desk, world: World, reason: str = "The kettle's reading was typed wrongly") -> None:
    with desk.doing(world.office) as deed:
        visits.reopen_visit(deed, world.visit_id, reason)


def correct(desk: Desk, world: World, entries: list, place: int = 0, visit_id: int = 0) -> Verdict:  # type: ignore[type-arg]
    with desk.doing(world.office) as deed:
        return record_item(deed, visit_id or world.visit_id, world.item_ids[place], entries).verdict


def test_a_correction_is_kept_with_the_old_and_the_new_value(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    for entries in (BAD_KETTLE, GOOD[0]):
        correct(desk, world, entries)
    assert newest(desk, "item", world.item_ids[0]) == (
        "Corrected item 0001: protective conductor resistance 0.21 Ω, now 0.11 Ω; "
        "insulation resistance not done, now > 20 MΩ; verdict fail, now pass."
    )


def test_saving_the_same_again_says_that_nothing_changed(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    for _ in range(2):
        correct(desk, world, GOOD[0])
    assert newest(desk, "item", world.item_ids[0]).endswith("every reading is as it was.")


def test_a_changed_reading_alone_makes_the_other_form_stale(desk: Desk, finished: World) -> None:
    """With the same verdict and the same day nothing but a reading differs; the version moves all the same."""
    reopen(desk, finished)
    with desk.reading_only() as session:
        version = get_visit_item(session, finished.visit_id, finished.item_ids[0]).version
    correct(desk, finished, [LOOKED_AT, earth("0.12"), INSULATED])
    with pytest.raises(Refused, match="Somebody else"), desk.doing(finished.technician) as deed:
        record_item(deed, finished.visit_id, finished.item_ids[0], GOOD[0], version=version)


def test_a_finished_visit_takes_no_correction(desk: Desk, finished: World) -> None:
    with pytest.raises(Refused, match="under way"):
        correct(desk, finished, BAD_KETTLE)


@pytest.mark.parametrize("reason", ["", "  \n"])
def test_reopening_needs_a_reason(desk: Desk, finished: World, reason: str) -> None:
    with pytest.raises(Mistakes):
        reopen(desk, finished, reason)


def test_only_a_finished_visit_is_reopened(desk: Desk, world: World) -> None:
    with pytest.raises(Refused, match="Only a finished visit"):
        reopen(desk, world)


def test_a_reopened_visit_is_corrected_and_finished_again(desk: Desk, finished: World, clock: Clock) -> None:
    with desk.reading_only() as session:
        first_day = get_visit(session, finished.visit_id).finished_on
    reopen(desk, finished)
    assert newest(desk, "visit", finished.visit_id) == "Reopened the visit: The kettle's reading was typed wrongly"
    assert correct(desk, finished, BAD_KETTLE) == Verdict.FAIL
    with desk.doing(finished.office) as deed:
        visits.finish_visit(deed, finished.visit_id)
    with desk.reading_only() as session:
        row = get_visit_item(session, finished.visit_id, finished.item_ids[0])
        assert row.visit.state == VisitState.FINISHED
        assert row.visit.finished_on == first_day, "a correction is no new supply"
        assert row.visit.finished_at == clock.now
        assert (row.tested_on, row.tested_by.name if row.tested_by else "") == (first_day, "Joss Alder")
        assert (row.item.state, row.item.last_tested_on) == (ItemState.OUT_OF_USE, first_day)


def test_an_issued_certificate_stays_as_it_is(desk: Desk, finished: World) -> None:
    certificate_id = issue_certificate(desk, finished.owner, finished.visit_id)
    with desk.reading_only() as session:
        row = get_certificate(session, certificate_id)
        before = (row.number, row.sha256, row.data)
    reopen(desk, finished)
    correct(desk, finished, BAD_KETTLE)
    with desk.reading_only() as session:
        row = get_certificate(session, certificate_id)
        assert (row.number, row.sha256, row.data) == before


def test_an_item_found_after_reopening_is_tested_on_that_day(desk: Desk, world: World, clock: Clock) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, left_out=0)
    first_day = clock.today
    clock.pass_time(days=3)
    reopen(desk, world, "The kettle turned up")
    correct(desk, world, GOOD[0])
    with desk.doing(world.office) as deed:
        visits.finish_visit(deed, world.visit_id)
    with desk.reading_only() as session:
        assert get_visit_item(session, world.visit_id, world.item_ids[0]).tested_on == clock.today
        assert get_visit_item(session, world.visit_id, world.item_ids[1]).tested_on == first_day
        assert get_visit(session, world.visit_id).finished_on == clock.today


def test_a_correction_of_an_old_visit_leaves_what_a_newer_test_says(desk: Desk, finished: World, clock: Clock) -> None:
    clock.pass_time(days=200)
    with desk.doing(finished.office) as deed:
        booking = Booking(finished.premises_id, finished.technician.id, finished.instrument_id, desk.today)
        later = visits.book_visit(deed, booking).id
    work_through(desk, finished.technician, later)
    with desk.reading_only() as session:
        item = get_item(session, finished.item_ids[0])
        before = (item.state, item.last_tested_on, item.last_verdict, item.next_due_on)
    reopen(desk, finished)
    assert correct(desk, finished, BAD_KETTLE) == Verdict.FAIL
    with desk.reading_only() as session:
        item = get_item(session, finished.item_ids[0])
        assert (item.state, item.last_tested_on, item.last_verdict, item.next_due_on) == before
        row = get_visit_item(session, finished.visit_id, finished.item_ids[0])
        assert [defect.closed_on for defect in row.defects] == [before[1]]


def test_a_draft_follows_a_correction(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, left_out=0)
    with desk.doing(world.office) as deed:
        assert _items_charged(draft_invoice(deed, world.visit_id)) == 2
    reopen(desk, world, "The kettle turned up")
    correct(desk, world, GOOD[0])
    with desk.doing(world.office) as deed:
        draft = draft_invoice(deed, world.visit_id)
        lines = [DraftLine(line.description, line.quantity, line.price, line.id) for line in draft.lines]
        lines[0] = lines[0]._replace(price=Decimal("1.20"))
        change_draft(deed, draft.id, [*lines, DraftLine("Parking", Decimal(1), Decimal("4.50"))], "PO 17")
    with desk.doing(world.office) as deed:
        visits.finish_visit(deed, world.visit_id)
        renew_draft(deed, world.visit_id)
    with desk.doing(world.office) as deed:
        draft = draft_invoice(deed, world.visit_id)
        assert _items_charged(draft) == 3
        assert next(line.price for line in draft.lines if line.basis == "items") == Decimal("1.20")
        assert [line.price for line in draft.lines if line.description == "Parking"] == [Decimal("4.50")]
        assert draft.reference == "PO 17"


def test_an_issued_invoice_does_not_follow(desk: Desk, finished: World) -> None:
    with desk.doing(finished.office) as deed:
        invoice_id = draft_invoice(deed, finished.visit_id).id
    issue_invoice(desk, finished.office, invoice_id)
    reopen(desk, finished)
    with desk.doing(finished.office) as deed:
        visits.finish_visit(deed, finished.visit_id)
        assert renew_draft(deed, finished.visit_id) is None
        assert draft_invoice(deed, finished.visit_id).id == invoice_id


def test_leaving_out_what_had_passed_says_so_in_the_journal(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    correct(desk, world, GOOD[0])
    with desk.doing(world.technician) as deed:
        leave_item(deed, world.visit_id, world.item_ids[0], NotTested.REFUSED, "wanted back at once")
    assert newest(desk, "item", world.item_ids[0]) == (
        "Item 0001 was not tested: refused by the customer. It was pass before. wanted back at once"
    )


def _items_charged(draft: object) -> int:
    return int(next(line.quantity for line in draft.lines if line.basis == "items"))  # type: ignore[attr-defined]
