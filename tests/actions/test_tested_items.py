"""What the register says of an item after its test was corrected, or after it was left out in the end."""

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from app.actions import items, visits
from app.actions.deeds import Deed, Desk
from app.actions.item_certificates import issue_item_certificate, revise_item_certificate
from app.actions.readings import leave_item, record_item
from app.actions.remedies import put_right
from app.rules.items import ItemState
from app.rules.remedies import Change, PutRight
from app.rules.verdicts import Refused, Verdict
from app.rules.visits import Booking, NotTested
from app.store.database import Database
from app.store.items import DefectRow, get_item, list_open_defects
from app.store.paper_facts import facts_for_certificate
from app.store.readings import get_visit_item
from tests.cast import LONDON, Clock, World, make_world
from tests.finished_visits import GOOD, LOOKED_AT, begin_worked_through, earth
from tests.kept_rows import as_kept

BAD_KETTLE = [LOOKED_AT, earth("0.21")]
FIRST = date(2026, 3, 4)


def record(desk: Desk, world: World, visit_id: int, entries: list) -> Verdict:  # type: ignore[type-arg]
    with desk.doing(world.technician) as deed:
        return record_item(deed, visit_id, world.item_ids[0], entries).verdict


def leave(desk: Desk, world: World, visit_id: int) -> None:
    with desk.doing(world.technician) as deed:
        leave_item(deed, visit_id, world.item_ids[0], NotTested.REFUSED)


def book(desk: Desk, world: World) -> int:
    """A visit of today, begun."""
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
        visit_id = visits.book_visit(deed, booking).id
        visits.start_visit(deed, visit_id)
    return visit_id


def kettle(desk: Desk, world: World) -> tuple[str, date | None, str | None, date | None]:
    with desk.reading_only() as session:
        row = get_item(session, world.item_ids[0])
        return row.state, row.last_tested_on, row.last_verdict, row.next_due_on


def test_a_pass_that_is_taken_back_moves_no_due_day(desk: Desk, world: World, clock: Clock) -> None:
    """Neither by leaving the item out nor while a correction is not whole: it falls due as its last test says."""
    begin_worked_through(desk, world.technician, world.visit_id)
    before = kettle(desk, world)
    # HSE INDG236: earthed Class I, 1 to 2 years; the shorter end to begin with.
    assert before == ("in use", FIRST, "pass", date(2027, 3, 4))
    clock.pass_time(days=200)
    second = book(desk, world)
    record(desk, world, second, GOOD[0])
    assert record(desk, world, second, GOOD[0][:2]) == Verdict.INCOMPLETE
    assert kettle(desk, world) == ("in use", clock.today, "incomplete", before[3])
    record(desk, world, second, GOOD[0])
    assert kettle(desk, world)[3] == date(2027, 9, 20)
    leave(desk, world, second)
    assert kettle(desk, world) == before
    with desk.reading_only() as session:
        row = get_visit_item(session, second, world.item_ids[0])
        assert (row.verdict, row.missing, len(row.readings)) == (None, [], 3), "what was measured stays on record"
        facts = facts_for_certificate(
            session, second, number="C-1", code="x", address="", by=world.owner, now=desk.now, today=desk.today
        )
        assert [each.next_due_on for each in facts.rows] == [None, None, None], "no paper says that it is due in a year"


def test_a_pass_that_is_taken_back_opens_the_defects_again(desk: Desk, world: World, clock: Clock) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, (BAD_KETTLE, *GOOD[1:]))
    clock.pass_time(days=7)
    second = book(desk, world)
    for taken_back in ("left out", "not whole"):
        record(desk, world, second, GOOD[0])
        assert kettle(desk, world)[0] == ItemState.IN_USE
        if taken_back == "left out":
            leave(desk, world, second)
            assert kettle(desk, world) == ("out of use", FIRST, "fail", None)
        else:
            record(desk, world, second, GOOD[0][:2])
            assert kettle(desk, world) == ("out of use", clock.today, "incomplete", None)
        with desk.reading_only() as session:
            assert len(list_open_defects(session, world.item_ids[0])) == 1
            assert get_item(session, world.item_ids[0]).state_reason == "Failed at the visit of 4 March 2026"


def test_a_pass_of_the_day_before_is_taken_back_too(desk: Desk, world: World, clock: Clock) -> None:
    """A visit of several days: what the pass of Monday closed is open again when the item fails on Tuesday."""
    begin_worked_through(desk, world.technician, world.visit_id, (BAD_KETTLE, *GOOD[1:]))
    clock.pass_time(days=7)
    second = book(desk, world)
    record(desk, world, second, GOOD[0])
    clock.pass_time(days=1)
    record(desk, world, second, [LOOKED_AT, earth("0.30")])
    with desk.reading_only() as session:
        assert len(list_open_defects(session, world.item_ids[0])) == 2


def test_the_certificate_of_an_item_that_was_left_out_in_the_end_is_made_void(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    paper_id = issue_item_certificate(desk, world.office, world.item_ids[0])
    with desk.doing(world.office) as deed:
        visits.reopen_visit(deed, world.visit_id, "It was another kettle")
    leave(desk, world, world.visit_id)
    with desk.doing(world.office) as deed:
        visits.finish_visit(deed, world.visit_id)
    with pytest.raises(Refused, match="left out of the visit in the end. Make certificate .* void"):
        revise_item_certificate(desk, world.office, paper_id, "It was another kettle")
    with pytest.raises(Refused, match="not tested at this visit"):
        issue_item_certificate(desk, world.office, world.item_ids[0], visit_id=world.visit_id)


def test_an_item_put_right_and_left_out_after_all_stays_failed(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    record(desk, world, world.visit_id, BAD_KETTLE)
    with desk.doing(world.technician) as deed:
        put_right(deed, world.visit_id, world.item_ids[0], PutRight(Change.OTHER, words="The earth tightened"))
    record(desk, world, world.visit_id, GOOD[0])
    leave(desk, world, world.visit_id)
    assert kettle(desk, world) == ("out of use", FIRST, "fail", None)


def test_no_correction_brings_back_what_was_withdrawn(desk: Desk, world: World, clock: Clock) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, (BAD_KETTLE, *GOOD[1:]))
    clock.pass_time(days=2)
    with desk.doing(world.office) as deed:
        items.withdraw_item(deed, world.item_ids[0], "Scrapped")
        visits.reopen_visit(deed, world.visit_id, "The reading was typed wrongly")
    for entries in ([LOOKED_AT, earth("0.22")], GOOD[0]):
        record(desk, world, world.visit_id, entries)
        with desk.reading_only() as session:
            row = get_item(session, world.item_ids[0])
            assert (row.state, row.state_reason, row.next_due_on) == ("withdrawn", "Scrapped", None)


def test_a_pass_does_not_put_a_recalled_item_back_in_use(desk: Desk, world: World) -> None:
    """A recalled item may well pass. The recall took it out of use, and only what is done about that ends it."""
    recalled = DefectRow(
        item_id=world.item_ids[0],
        found_at=desk.now,
        found="Recalled product: it may catch fire",
        remedy="",
        recalled=True,
    )
    with desk.doing(world.office) as deed:
        deed.session.add(recalled)
        items.take_out_of_use(deed, world.item_ids[0], recalled.found)
        visits.start_visit(deed, world.visit_id)
    for entries in (GOOD[0], BAD_KETTLE, GOOD[0]):
        record(desk, world, world.visit_id, entries)
        assert kettle(desk, world)[0] == ItemState.OUT_OF_USE
    with desk.doing(world.office) as deed:
        deed.session.add(recalled)
        recalled.closed_on = desk.today
    record(desk, world, world.visit_id, GOOD[0])
    assert kettle(desk, world)[0] == ItemState.IN_USE
    with desk.reading_only() as session:
        assert list_open_defects(session, world.item_ids[0]) == [], "what was done about a recall stays done"


def test_finishing_waits_for_what_is_being_saved(postgres_url: str, clock: Clock, tmp_path: Path) -> None:
    """On PostgreSQL two people write at once. Without the wait a visit would be finished with an item that is not
    whole, or take a reading after its end; on SQLite writers are alone anyway.
    """
    database = Database(postgres_url)
    desk = Desk(database, tmp_path / "papers", "https://office.tarn-alder.example", LONDON, clock)
    world = as_kept(desk, make_world)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        for place, item_id in enumerate(world.item_ids):
            record_item(deed, world.visit_id, item_id, GOOD[place])

    def takes(deed: Deed) -> None:
        record_item(deed, world.visit_id, world.item_ids[0], GOOD[0][:2])

    def ends(deed: Deed) -> None:
        visits.finish_visit(deed, world.visit_id)

    for first, second in ((takes, ends), (ends, takes)):
        with pytest.raises(Undone), desk.doing(world.technician) as deed:
            first(deed)
            with pytest.raises(OperationalError, match="lock timeout"), desk.doing(world.office) as other:
                other.session.execute(text("SET LOCAL lock_timeout = '40ms'"))
                second(other)
            raise Undone
    database.close()


class Undone(Exception):
    """Leaves a transaction without a trace."""
