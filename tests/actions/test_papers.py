"""Registers, lists of defects, papers on single items: they agree with the records, are made once, and never change."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from decimal import Decimal
from functools import partial
from hashlib import sha256

import pytest
from sqlalchemy import update
from sqlalchemy.exc import DatabaseError

from app.actions import item_certificates, items, paper_files, papers, photos, readings, visits
from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.remedies import put_right
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.items import ItemDetails
from app.rules.papers import Purpose
from app.rules.quantities import Reading, Unit
from app.rules.remedies import Change, PutRight
from app.rules.verdicts import Mistakes, Outcome, Refused
from app.rules.visits import Booking, NotTested
from app.store.checked_papers import find_checked_paper
from app.store.issued_papers import PaperFilter, count_issued_papers, list_issued_papers
from app.store.items import get_item, list_items, list_open_defects
from app.store.journal import list_journal
from app.store.papers import PaperRow, get_paper
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.finished_visits import GOOD, begin_worked_through, earth, work_through
from tests.pictures import photo

BAD_KETTLE = ([GOOD[0][0], earth("0.42")], *GOOD[1:])


def opened(desk: Desk, paper_id: int) -> str:
    """The text of a paper's file, which is what its row says."""
    with desk.reading_only() as session:
        row = get_paper(session, paper_id)
        content = papers.open_issued_paper(desk, row)
        assert (sha256(content).hexdigest(), len(content)) == (row.sha256, row.size_bytes)
    return text_of(content)


def pass_again(desk: Desk, world: World) -> int:
    """Another visit to the same premises, today, at which everything passes."""
    with desk.doing(world.owner) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
        visit_id = visits.book_visit(deed, booking).id
    work_through(desk, world.technician, visit_id, GOOD)
    return visit_id


def test_a_register_agrees_with_the_database(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, BAD_KETTLE)
    with desk.doing(world.office) as deed:
        details = ItemDetails("", "ミルベック小学校 ケトル " + "long " * 20, world.location_id)
        items.add_item(deed, details)
    text = opened(desk, papers.issue_register(desk, world.office, world.customer_id, world.premises_id))
    assert "REG-000001" in text and "4 items in service." in text
    with desk.reading_only() as session:
        for item in list_items(session, world.premises_id):
            assert f"{item.number} {item.description.split()[0]}" in text, item.description
            if item.next_due_on:
                assert f"{item.next_due_on.day} {item.next_due_on:%b %Y}" in text
    assert "1 out of use until put right" in text and "1 not tested yet" in text


def test_a_register_of_a_past_day_shows_that_day(desk: Desk, world: World, clock: Clock) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    that_day = desk.today
    clock.pass_time(days=300)
    with desk.doing(world.office) as deed:
        items.withdraw_item(deed, world.item_ids[1], "Scrapped")
        items.add_item(deed, ItemDetails("", "Toaster", world.location_id))
    now, then = (
        opened(desk, papers.issue_register(desk, world.office, world.customer_id, as_at=day))
        for day in (None, that_day)
    )
    assert "Toaster" in now and "Drill" not in now
    assert "Toaster" not in then and "Drill" in then and "It was drawn up later than the day it shows" in then
    assert "3 items in service." in now and "3 items in service." in then
    early = opened(desk, papers.issue_register(desk, world.office, world.customer_id, as_at=that_day - timedelta(9)))
    assert "No item was in service on this day." in early
    with pytest.raises(Refused, match="still to come"):
        papers.issue_register(desk, world.office, world.customer_id, as_at=desk.today + timedelta(1))
    with pytest.raises(Refused, match="not of this customer"):
        papers.issue_register(desk, world.office, world.customer_id, world.other_premises_id)


def test_open_defects_are_listed_until_a_pass_closes_them(desk: Desk, world: World, clock: Clock) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, BAD_KETTLE)
    failed_on = desk.today
    with desk.doing(world.office) as deed:
        booked_on = desk.today + timedelta(days=20)
        visits.book_visit(deed, Booking(world.premises_id, world.technician.id, world.instrument_id, booked_on))
        [defect] = list_open_defects(deed.session, world.item_ids[0])
    text = opened(desk, papers.issue_defect_list(desk, world.office, world.customer_id))
    assert "1 defect is open on 1 item. It is out of use." in text
    # 0.1 + R with R from IEC 60228 class 5: 1.5 m of 0.75 mm² at 0.0260 ohm/m is 0.039 ohm, so 0.42 is 0.281 over.
    assert "0.42 Ω" in text and "0.281 Ω over" in text
    assert " ".join(defect.remedy.split()) in text
    assert "Dutyholder: keep it out of use" in text and "test it again at the visit on 24 Mar 2026" in text
    clock.pass_time(days=3)
    pass_again(desk, world)
    now = opened(desk, papers.issue_defect_list(desk, world.office, world.customer_id, world.premises_id))
    then = opened(desk, papers.issue_defect_list(desk, world.office, world.customer_id, as_at=failed_on))
    assert "No defect is open." in now and "1 defect is open" in then


def test_an_item_is_certified_for_what_its_test_serves(desk: Desk, world: World, clock: Clock) -> None:
    kettle, drill, _ = world.item_ids
    with pytest.raises(Refused, match="no test at a finished visit"):
        item_certificates.issue_item_certificate(desk, world.office, kettle)
    work_through(desk, world.technician, world.visit_id, BAD_KETTLE)
    text = opened(desk, item_certificates.issue_item_certificate(desk, world.office, drill, Purpose.HIRE))
    assert "Certificate of one item" in text and "Drill: passed." in text and "Before it is hired out" in text
    assert "Kettle" not in text and "Extension lead" not in text
    for purpose, said in ((Purpose.HIRE, "is out of use"), (Purpose.SALE, "is out of use"), (Purpose.REPAIR, "repair")):
        with pytest.raises(Refused, match=said):
            item_certificates.issue_item_certificate(desk, world.office, kettle, purpose)
    assert "Kettle: failed." in opened(desk, item_certificates.issue_item_certificate(desk, world.office, kettle))
    clock.pass_time(days=30)
    pass_again(desk, world)
    with pytest.raises(Refused, match="tested again later"):
        item_certificates.issue_item_certificate(desk, world.office, drill, Purpose.SALE, world.visit_id)
    older = item_certificates.issue_item_certificate(desk, world.office, kettle, visit_id=world.visit_id)
    assert "tested again on 3 April 2026: pass. That test holds" in opened(desk, older)


def test_a_correction_replaces_and_a_void_ends(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    first = item_certificates.issue_item_certificate(desk, world.office, world.item_ids[1], Purpose.HIRE)
    with pytest.raises(Refused, match="Nothing that certificate ITM-000001 says has changed"):
        item_certificates.revise_item_certificate(desk, world.office, first, "Wrong serial")
    before = (desk.papers_folder / "item_certificate-ITM-000001.pdf").read_bytes()
    with desk.doing(world.office) as deed:
        row = get_item(deed.session, world.item_ids[1])
        row.serial = "SN-77"
    [change] = item_certificates.compare_item_certificate(desk, world.office, first)
    assert (change.what, change.now) == ("Make, model and serial number", "serial SN-77")
    with pytest.raises(Mistakes):
        item_certificates.revise_item_certificate(desk, world.office, first, " ")
    second = item_certificates.revise_item_certificate(desk, world.office, first, "Wrong serial")
    text = opened(desk, second)
    assert "ITM-000001-R2" in text and "replaces ITM-000001" in text and "SN-77" in text and "Wrong serial" in text
    assert (desk.papers_folder / "item_certificate-ITM-000001.pdf").read_bytes() == before
    with desk.reading_only() as session:
        old, new = get_paper(session, first), get_paper(session, second)
        assert (old.standing, new.standing) == ("replaced", "issued")
        checked = find_checked_paper(session, old.code, desk.today)
        assert checked is not None and checked.newest_number == "ITM-000001-R2"
    with desk.doing(world.office) as deed:
        with pytest.raises(Refused, match="is replaced by ITM-000001-R2"):
            item_certificates.void_paper(deed, first, "No")
        item_certificates.void_paper(deed, second, "Another drill")
    with desk.reading_only() as session:
        checked = find_checked_paper(session, get_paper(session, second).code, desk.today)
        assert checked is not None and (checked.standing, checked.void_reason) == ("void", "Another drill")


def test_a_register_is_not_corrected_but_made_void(desk: Desk, world: World) -> None:
    paper_id = papers.issue_register(desk, world.office, world.customer_id)
    with pytest.raises(Refused, match="Make it void"):
        item_certificates.revise_item_certificate(desk, world.office, paper_id, "Wrong")
    with desk.doing(world.office) as deed:
        item_certificates.void_paper(deed, paper_id, "Wrong customer")
    again = papers.issue_register(desk, world.office, world.customer_id)
    assert again != paper_id  # what is void does not stand in the way of a new one


def test_the_history_of_an_item_has_every_test_and_reading(desk: Desk, world: World, clock: Clock) -> None:
    kettle = world.item_ids[0]
    assert "no test is on record" in opened(desk, papers.issue_item_history(desk, world.office, kettle))
    work_through(desk, world.technician, world.visit_id, BAD_KETTLE)
    clock.pass_time(days=100)
    pass_again(desk, world)
    text = opened(desk, papers.issue_item_history(desk, world.office, kettle))
    assert "2 tests on record, the last on 12 June 2026: pass." in text
    assert "4 March 2026 0.42 Ω at most 0.139 Ω" in text and "12 June 2026 0.11 Ω at most 0.139 Ω" in text
    assert "12 June 2026 > 20 MΩ at least 1 MΩ" in text


def test_what_was_put_right_on_the_spot_is_in_the_history_and_serves_after_a_repair(desk: Desk, world: World) -> None:
    drill = world.item_ids[1]
    bad = [GOOD[1][0], Entry(Check.INSULATION_RESISTANCE, Reading(Decimal("0.4"), Unit.MEGOHM))]
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        readings.record_item(deed, world.visit_id, drill, bad)
        put_right(deed, world.visit_id, drill, PutRight(Change.FUSE, fuse_a=Decimal(3)))
        readings.record_item(deed, world.visit_id, drill, GOOD[1])
        for item_id in (world.item_ids[0], world.item_ids[2]):
            readings.leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    text = opened(desk, papers.issue_item_history(desk, world.office, drill))
    assert "1 test on record, the last on 4 March 2026: pass." in text
    assert "fail as found" in text and "Put right on the spot: fuse changed to 3 A." in text
    # Class II: at least 2 MΩ (Code of Practice for in-service inspection, 4th edition, 2012).
    assert "0.4 MΩ at least 2 MΩ fail" in text and "> 20 MΩ at least 2 MΩ pass" in text
    after = opened(desk, item_certificates.issue_item_certificate(desk, world.office, drill, Purpose.REPAIR))
    assert "After a repair" in after and "Drill: passed." in after and "0.4 MΩ" in after


def test_two_who_press_at_once_make_one_paper(desk: Desk, world: World) -> None:
    with ThreadPoolExecutor(3) as pool:
        issue = partial(papers.issue_register, desk, world.office, world.customer_id)
        made = [each.result() for each in [pool.submit(issue) for _ in range(3)]]
    assert len(set(made)) == 1
    assert "REG-000001" in opened(desk, made[0])


def test_a_photo_of_a_failed_item_is_on_its_certificate(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
        readings.record_item(
            deed, world.visit_id, world.item_ids[0], [Entry(Check.VISUAL, outcome=Outcome.FAIL, note="Plug cracked")]
        )
        photos.add_photo(deed, world.visit_id, world.item_ids[0], photo(320, 240))
        for item_id in world.item_ids[1:]:
            readings.leave_item(deed, world.visit_id, item_id, NotTested.NOT_FOUND)
        visits.finish_visit(deed, world.visit_id)
    paper_id = item_certificates.issue_item_certificate(desk, world.office, world.item_ids[0])
    with desk.reading_only() as session:
        [failed] = get_paper(session, paper_id).data["failed"]
        assert len(failed["photos"]) == 1
    assert "Plug cracked" in opened(desk, paper_id)


def test_pressing_twice_makes_one_paper(desk: Desk, world: World) -> None:
    first = papers.issue_register(desk, world.office, world.customer_id)
    assert papers.issue_register(desk, world.office, world.customer_id) == first
    other = papers.issue_register(desk, world.office, world.customer_id, world.premises_id)
    with desk.doing(world.office) as deed:
        items.add_item(deed, ItemDetails("", "Toaster", world.location_id))
    newer = papers.issue_register(desk, world.office, world.customer_id)
    assert len({first, other, newer}) == 3
    history = [papers.issue_item_history(desk, world.office, world.item_ids[0]) for _ in range(2)]
    assert history[0] == history[1]
    with desk.reading_only() as session:
        found = list_issued_papers(session, PaperFilter(customer_id=world.customer_id))
        assert [paper.number for paper in found] == ["HIS-000001", "REG-000003", "REG-000002", "REG-000001"]


def test_a_paper_that_a_crash_left_is_finished_later(desk: Desk, world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    def out_of_power(*_: object) -> str:
        raise OSError("no space left on the disk")

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", out_of_power)
        with pytest.raises(OSError, match="no space"):
            papers.issue_register(desk, world.office, world.customer_id)
    with desk.reading_only() as session:
        [left] = list_issued_papers(session, PaperFilter())
        assert (left.number, left.standing) == ("REG-000001", "waiting")
        assert find_checked_paper(session, left.code, desk.today) is None
        with pytest.raises(Refused, match="still being made"):
            papers.open_issued_paper(desk, get_paper(session, left.id))
    assert (papers.finish_pending_papers(desk), papers.finish_pending_papers(desk)) == (1, 0)
    assert "REG-000001" in opened(desk, left.id)


def test_an_issued_paper_is_frozen_by_the_database(desk: Desk, world: World) -> None:
    paper_id = papers.issue_register(desk, world.office, world.customer_id)
    for change in ({"number": "REG-9"}, {"state": "pending"}, {"sha256": "0"}, {"items": 9}):
        with pytest.raises(DatabaseError, match="frozen"), desk.doing(world.office) as deed:
            deed.session.execute(update(PaperRow).where(PaperRow.id == paper_id).values(**change))
    with pytest.raises(DatabaseError, match="stays in its series"), desk.doing(world.office) as deed:
        deed.session.delete(get_paper(deed.session, paper_id))
        deed.session.flush()


def test_papers_are_listed_for_customer_premises_and_item(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    issue_certificate(desk, world.office, world.visit_id)
    papers.issue_register(desk, world.office, world.customer_id)
    papers.issue_defect_list(desk, world.office, world.customer_id, world.premises_id)
    item_certificates.issue_item_certificate(desk, world.office, world.item_ids[0])
    papers.issue_register(desk, world.office, world.other_customer_id)

    def numbers(**wanted: object) -> set[str]:
        with desk.reading_only() as session:
            asked = PaperFilter(**wanted)  # type: ignore[arg-type]
            found = list_issued_papers(session, asked)
            assert count_issued_papers(session, asked) == len(found)
            parts = [list_issued_papers(session, asked, limit=1, offset=place) for place in range(len(found))]
            assert sum(parts, []) == found
            return {paper.number for paper in found}

    assert numbers() == {"C-000001", "REG-000001", "DEF-000001", "ITM-000001", "REG-000002"}
    assert numbers(customer_id=world.customer_id) == {"C-000001", "REG-000001", "DEF-000001", "ITM-000001"}
    # A register of the whole customer tells of other premises too, so it is none of one premises.
    assert numbers(premises_id=world.premises_id) == {"C-000001", "DEF-000001", "ITM-000001"}
    assert numbers(item_id=world.item_ids[0]) == {"C-000001", "ITM-000001"}
    assert numbers(kind="register") == {"REG-000001", "REG-000002"}
    assert numbers(search="saltgate") == {"REG-000002"}
    with desk.reading_only() as session:
        said = [line.sentence for line in list_journal(session, "paper")]
    assert sum(bool(re.match("Issued paper (REG|DEF|ITM)-0", sentence)) for sentence in said) == 4
