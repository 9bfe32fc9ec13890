"""The customer's word through a share link: it makes a task and marks a defect, and a passed test alone closes one.

Photos lose what a camera wrote beside the picture (Exif 2.32, CIPA DC-008). The bounds are our own.
"""

from datetime import timedelta

import pytest

from app.actions import certificates, defects, share_links, tasks, visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.defect_waits import Duty
from app.rules.entries import Entry
from app.rules.share_links import FolderKind, LinkScope
from app.rules.tasks import TASKS_A_DAY, TASKS_WAITING_MOST
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.rules.visits import Booking
from app.store.database import Missing
from app.store.defects import list_defect_steps, list_open_defects_of_all
from app.store.items import get_item, list_open_defects
from app.store.journal import list_journal
from app.store.share_links import list_share_links
from app.store.tasks import get_task, get_task_photo, list_tasks
from tests.cast import Clock, World
from tests.finished_visits import GOOD, INSULATED, LOOKED_AT, begin_worked_through
from tests.kept_rows import as_kept
from tests.pictures import jpeg_segments, photo

CUT = [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Cord cut near the plug")]
DONE = tasks.Word("Ada Lomas", "01632 960123", "New cord fitted by our electrician")


@pytest.fixture
def failed(desk: Desk, world: World) -> int:
    """The link to the folder of the first customer, whose drill failed."""
    return as_kept(desk, _failed, world)


def _failed(desk: Desk, world: World) -> int:
    begin_worked_through(desk, world.technician, world.visit_id, (GOOD[0], CUT, GOOD[2]))
    certificates.issue_certificate(desk, world.office, world.visit_id)
    return share(desk, world, LinkScope(world.customer_id))


def share(desk: Desk, world: World, scope: LinkScope) -> int:
    with desk.doing(world.office) as deed:
        share_links.share(deed, scope)
        return list_share_links(deed.session)[0].id


def report(desk: Desk, link_id: int, item_id: int, word: tasks.Word = DONE, picture: bytes = b"") -> int:
    with desk.doing(None) as deed:
        return tasks.report_remedy(deed, link_id, item_id, word, picture).id


def retest(desk: Desk, world: World, entries: list[Entry]) -> None:
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
        visit_id = visits.book_visit(deed, booking).id
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, visit_id)
        record_item(deed, visit_id, world.item_ids[1], entries)


def test_the_word_makes_a_task_and_leaves_the_defect_open(desk: Desk, world: World, failed: int) -> None:
    drill = world.item_ids[1]
    task_id = report(desk, failed, drill, picture=photo(2400, 1200))
    with desk.reading_only() as session:
        row = get_task(session, task_id)
        assert (row.state, row.item_id, row.premises_id, row.name) == ("waiting", drill, world.premises_id, "Ada Lomas")
        [defect] = list_open_defects(session, drill)
        assert defect.said_done_at == desk.now and get_item(session, drill).state == "out of use"
        assert "New cord fitted" in list_defect_steps(session, defect.id)[-1].sentence
        [kept] = row.photos
        assert (kept.width, kept.height) == (1600, 800)
        content = get_task_photo(session, task_id, kept.id).content
        assert not {"APP1", "COM"} & set(jpeg_segments(content)) and b"Invented camera" not in content
        assert any("is put right" in line.sentence for line in list_journal(session, "item", drill))


def test_a_passed_test_closes_the_defect_and_settles_the_word(
    desk: Desk, world: World, failed: int, clock: Clock
) -> None:
    task_id = report(desk, failed, world.item_ids[1])
    clock.pass_time(days=3)
    retest(desk, world, [LOOKED_AT, INSULATED])
    with desk.reading_only() as session:
        assert list_open_defects(session, world.item_ids[1]) == []
        row = get_task(session, task_id)
        assert (row.state, row.done_note) == ("done", "The item passed its test.")


def test_a_failed_test_settles_the_word_and_opens_the_wait_again(
    desk: Desk, world: World, failed: int, clock: Clock
) -> None:
    task_id = report(desk, failed, world.item_ids[1])
    clock.pass_time(days=3)
    retest(desk, world, CUT)
    with desk.reading_only() as session:
        found = list_open_defects(session, world.item_ids[1])
        assert found and all(defect.said_done_at is None for defect in found)
        assert get_task(session, task_id).done_note == "The item was tested again and failed."


def test_a_link_takes_no_word_about_what_it_does_not_show(desk: Desk, world: World, failed: int) -> None:
    others = share(desk, world, LinkScope(world.other_customer_id))
    paper = share(desk, world, LinkScope(world.customer_id, paper=(FolderKind.CERTIFICATE, 1)))
    for link_id, item_id in ((others, world.item_ids[1]), (failed, world.item_ids[0]), (paper, world.item_ids[1])):
        with pytest.raises(Missing):
            report(desk, link_id, item_id)
    with pytest.raises(Missing), desk.doing(None) as deed:
        tasks.ask_for_visit(deed, failed, DONE, world.other_premises_id)
    with desk.doing(world.office) as deed:
        share_links.withdraw_share_link(deed, failed)
    with pytest.raises(Missing):
        report(desk, failed, world.item_ids[1])
    with desk.reading_only() as session:
        assert list_tasks(session, done=None) == []


@pytest.mark.parametrize(
    ("word", "picture", "field"),
    [
        (tasks.Word("", "", "x"), b"", "name"),
        (tasks.Word("Ada", "", " "), b"", "said"),
        (DONE, b"GIF89a no photo", "photo"),
        (DONE, b"\xff\xd8" + b"0" * 8_000_001, "photo"),
    ],
)
def test_what_cannot_be_used_is_named_and_nothing_is_kept(
    desk: Desk, world: World, failed: int, word: tasks.Word, picture: bytes, field: str
) -> None:
    with pytest.raises(Mistakes) as wrong:
        report(desk, failed, world.item_ids[1], word, picture)
    assert list(wrong.value.messages) == [field]
    with desk.reading_only() as session:
        assert list_tasks(session, done=None) == []
        assert list_open_defects(session, world.item_ids[1])[0].said_done_at is None


def test_a_link_sends_so_much_in_a_day_and_no_more(desk: Desk, world: World, failed: int, clock: Clock) -> None:
    def ask() -> None:
        with desk.doing(None) as deed:
            tasks.ask_for_visit(deed, failed, DONE)

    for _ in range(TASKS_A_DAY):
        ask()
    with pytest.raises(Refused, match="for one day"):
        ask()
    clock.pass_time(days=1)
    for _ in range(TASKS_WAITING_MOST // TASKS_A_DAY - 1):
        for _ in range(TASKS_A_DAY):
            ask()
        clock.pass_time(days=1)
    with pytest.raises(Refused, match="still being worked on"):
        ask()


def test_who_takes_a_task_and_what_was_done_is_kept(desk: Desk, world: World, failed: int) -> None:
    with desk.doing(None) as deed:
        task_id = tasks.ask_for_visit(deed, failed, DONE, world.premises_id).id
    with desk.doing(world.office) as deed:
        tasks.take_task(deed, task_id, world.technician.id)
        assert [row.id for row in list_tasks(deed.session, world.technician.id)] == [task_id]
    with pytest.raises(Mistakes, match="what was done"), desk.doing(world.technician) as deed:
        tasks.finish_task(deed, task_id, " ")
    with desk.doing(world.office) as deed:
        tasks.take_task(deed, task_id, world.owner.id)
    with pytest.raises(Refused, match="somebody else's"), desk.doing(world.technician) as deed:
        tasks.finish_task(deed, task_id, "Rang back")
    with desk.doing(world.office) as deed:
        tasks.finish_task(deed, task_id, "Rang back, booked for Tuesday")
    with pytest.raises(Refused, match="done this already"), desk.doing(world.office) as deed:
        tasks.finish_task(deed, task_id, "Twice")
    with desk.doing(world.office) as deed:
        assert tasks.open_task_again(deed, task_id).state == "taken"


def test_who_must_act_and_by_when_outlives_a_correction_of_the_visit(desk: Desk, world: World, failed: int) -> None:
    with desk.reading_only() as session:
        [found] = list_open_defects_of_all(session)
        defect_id = found.defect.id
    for act_by, field in ((desk.today - timedelta(days=1), "act_by"), (None, "person_id")):
        with pytest.raises(Mistakes, match=field), desk.doing(world.office) as deed:
            defects.see_to_defect(deed, defect_id, Duty.CUSTOMER if act_by else Duty.PERSON, None, act_by)
    with desk.doing(world.office) as deed:
        due = desk.today + timedelta(days=10)
        defects.see_to_defect(deed, defect_id, Duty.PERSON, world.technician.id, due, "Cord is ordered", 1)
        with pytest.raises(Refused, match="Somebody else has changed"):
            defects.see_to_defect(deed, defect_id, Duty.FIRM, version=1)
    with desk.doing(world.office) as deed:
        visits.reopen_visit(deed, world.visit_id, "The note was wrong")
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[1], CUT, note="See the photo")
        [again] = list_open_defects_of_all(deed.session)
        assert (again.defect.id, again.duty_name, again.defect.act_by) == (defect_id, "Joss Alder", due)
        assert list_defect_steps(deed.session, defect_id)[0].sentence.endswith("Cord is ordered")
        record_item(deed, world.visit_id, world.item_ids[1], [LOOKED_AT, INSULATED])
        assert list_open_defects_of_all(deed.session) == []
