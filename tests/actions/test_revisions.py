"""Corrections of certificates as in ISO/IEC 17025:2017, 7.8.8: a new paper that names the old one and marks changes;
the old bytes stay. Void certificates stay in their series.
"""

from dataclasses import replace

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from app.actions import certificates, customers, items, paper_files, revisions
from app.actions.deeds import Desk
from app.rules.certificates import Standing
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import (
    find_certificate_by_code,
    find_certificate_of_visit,
    find_newest_revision,
    get_certificate,
    list_certificates,
)
from app.store.customers import get_customer
from app.store.items import get_item
from app.store.journal import list_journal
from tests.cast import World
from tests.documents.reading_back import text_of
from tests.finished_visits import begin_worked_through
from tests.kept_rows import as_kept

REASON = "The serial number was read wrongly"


@pytest.fixture
def issued(desk: Desk, world: World) -> int:
    return as_kept(desk, _issued, world)


def _issued(desk: Desk, world: World) -> int:
    begin_worked_through(desk, world.technician, world.visit_id)
    return certificates.issue_certificate(desk, world.office, world.visit_id)


def give_serial(desk: Desk, world: World, serial: str, place: int = 0) -> None:
    with desk.doing(world.office) as deed:
        row = get_item(deed.session, world.item_ids[place])
        items.change_item(deed, row.id, replace(row.details, serial=serial))


def correct(desk: Desk, world: World, certificate_id: int, serial: str) -> int:
    give_serial(desk, world, serial)
    return revisions.revise_certificate(desk, world.office, certificate_id, REASON)


def test_a_correction_is_a_new_paper_that_names_the_old_one(desk: Desk, world: World, issued: int) -> None:
    old_bytes = (desk.papers_folder / "C-000001.pdf").read_bytes()
    new_id = correct(desk, world, issued, "FG 4711")
    assert (desk.papers_folder / "C-000001.pdf").read_bytes() == old_bytes
    with desk.reading_only() as session:
        old, new = get_certificate(session, issued), get_certificate(session, new_id)
        assert (old.number, old.standing) == ("C-000001", Standing.REPLACED)
        assert (new.number, new.standing) == ("C-000001-R2", Standing.ISSUED)
        assert old.code != new.code
        assert old.replaced_by is new
        assert find_certificate_of_visit(session, world.visit_id) is new
        kept = certificates.open_certificate(desk, old)
        printed = text_of(certificates.open_certificate(desk, new))
        for row in (old, new):
            said = [line.sentence for line in list_journal(session, "certificate", row.id)]
            assert f"Corrected certificate C-000001 by C-000001-R2: {REASON}" in said
    assert kept == old_bytes
    assert f"This certificate replaces C-000001 of 4 March 2026. Reason: {REASON}." in printed
    assert "What was corrected" in printed
    assert "FG 4711" in printed
    assert printed.count("changed") == 1  # the one item, marked
    assert "End of certificate C-000001-R2" in printed


def test_the_differences_are_those_of_the_records(desk: Desk, world: World, issued: int) -> None:
    assert revisions.compare_certificate(desk, world.office, issued) == []
    give_serial(desk, world, "FG 4711")
    give_serial(desk, world, "X 9", place=2)
    with desk.doing(world.office) as deed:
        row = get_customer(deed.session, world.customer_id)
        customers.change_customer(deed, row.id, replace(row.details, name="Brackenhow School"))
    found = revisions.compare_certificate(desk, world.office, issued)
    assert [(change.item, change.what, change.was, change.now) for change in found] == [
        ("", "Customer", "Brackenhow Primary School, 1 High Street, Millbeck, ZZ1 1AA",
         "Brackenhow School, 1 High Street, Millbeck, ZZ1 1AA"),
        ("0001", "Make, model and serial number", "", "serial FG 4711"),
        ("0003", "Make, model and serial number", "", "serial X 9"),
    ]  # fmt: skip


def test_a_correction_needs_a_change_and_a_reason(desk: Desk, world: World, issued: int) -> None:
    with pytest.raises(Refused, match="Nothing that certificate C-000001 says has changed"):
        revisions.revise_certificate(desk, world.office, issued, REASON)
    give_serial(desk, world, "FG 4711")
    with pytest.raises(Mistakes):
        revisions.revise_certificate(desk, world.office, issued, "  ")
    with desk.reading_only() as session:
        assert [row.number for row in list_certificates(session)] == ["C-000001"]


def test_from_any_paper_of_a_chain_the_newest_is_one_step_away(desk: Desk, world: World, issued: int) -> None:
    chain = [issued]
    for serial in ("A", "B", "C"):
        chain.append(correct(desk, world, chain[-1], serial))
    with desk.reading_only() as session:
        rows = [get_certificate(session, each) for each in chain]
        assert [row.number for row in rows] == ["C-000001", "C-000001-R2", "C-000001-R3", "C-000001-R4"]
        assert {find_newest_revision(session, row).number for row in rows} == {"C-000001-R4"}
        assert [row.standing for row in rows] == [Standing.REPLACED] * 3 + [Standing.ISSUED]
        for row in rows:
            certificates.open_certificate(desk, row)  # refuses where a byte has changed
            assert find_certificate_by_code(session, row.code) is row
    with pytest.raises(Refused, match="is replaced by C-000001-R4"):
        correct(desk, world, issued, "D")
    with desk.doing(world.office) as deed, pytest.raises(Refused, match="replaced by C-000001-R4"):
        revisions.void_certificate(deed, issued, "Wrong visit")


def test_a_void_certificate_stays_in_its_series(desk: Desk, world: World, issued: int) -> None:
    with desk.doing(world.office) as deed, pytest.raises(Mistakes):
        revisions.void_certificate(deed, issued, " ")
    with desk.doing(world.office) as deed:
        revisions.void_certificate(deed, issued, "Issued for the wrong visit")
    with desk.doing(world.office) as deed, pytest.raises(Refused, match="void already"):
        revisions.void_certificate(deed, issued, "Again")
    with pytest.raises(Refused, match="is void"):
        correct(desk, world, issued, "A")
    again = certificates.issue_certificate(desk, world.office, world.visit_id)
    with desk.reading_only() as session:
        void, new = get_certificate(session, issued), get_certificate(session, again)
        assert (void.number, void.standing) == ("C-000001", Standing.VOID)
        assert (new.number, new.standing) == ("C-000002", Standing.ISSUED)
        certificates.open_certificate(desk, void)


@pytest.mark.parametrize("table", ["certificate_revisions", "certificate_voids"])
@pytest.mark.parametrize("deed", ["DELETE FROM {}", "UPDATE {} SET reason = 'another'"])
def test_what_was_said_of_a_paper_cannot_be_taken_back(
    desk: Desk, world: World, issued: int, table: str, deed: str
) -> None:
    new_id = correct(desk, world, issued, "A")
    with desk.doing(world.office) as doing:
        revisions.void_certificate(doing, new_id, "Wrong")
    with pytest.raises(DatabaseError, match="stays"), desk.doing(world.office) as doing:
        doing.session.execute(text(deed.format(table)))


def test_a_correction_that_a_crash_left_is_finished_and_not_made_twice(
    desk: Desk, world: World, issued: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    give_serial(desk, world, "A")

    def out_of_power(*_: object) -> str:
        raise OSError("no space left on the disk")

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", out_of_power)
        with pytest.raises(OSError, match="no space"):
            revisions.revise_certificate(desk, world.office, issued, REASON)
    with desk.reading_only() as session:
        assert get_certificate(session, issued).standing == Standing.ISSUED  # until the new one is there
    new_id = revisions.revise_certificate(desk, world.office, issued, REASON)
    with desk.reading_only() as session:
        assert get_certificate(session, new_id).number == "C-000001-R2"
        assert get_certificate(session, issued).standing == Standing.REPLACED
