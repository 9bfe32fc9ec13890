"""Issuing certificates: numbers without holes, one paper a visit, and a file that is what its hash says."""

from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256

import pytest

from app.actions import certificates, paper_files, visits
from app.actions.deeds import Desk
from app.rules.verdicts import Refused
from app.store.certificates import count_certificates, get_certificate, list_certificates
from app.store.journal import list_journal
from tests.cast import World
from tests.documents.reading_back import text_of
from tests.finished_visits import GOOD, begin_worked_through, earth, work_through

BAD_KETTLE = ([GOOD[0][0], earth("0.42")], *GOOD[1:])


def issue(desk: Desk, world: World, visit_id: int) -> int:
    return certificates.issue_certificate(desk, world.office, visit_id)


def test_a_certificate_counts_what_the_visit_found(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id, BAD_KETTLE, left_out=2)
    certificate_id = issue(desk, world, world.visit_id)
    with desk.reading_only() as session:
        row = get_certificate(session, certificate_id)
        assert (row.number, row.state) == ("C-000001", "issued")
        assert (row.items, row.passed, row.failed) == (3, 1, 1)
        assert row.issued_on == desk.today
        content = certificates.open_certificate(desk, row)
        assert sha256(content).hexdigest() == row.sha256
        assert (len(content), content[:5]) == (row.size_bytes, b"%PDF-")
        said = [line.sentence for line in list_journal(session, "certificate", certificate_id)]
        assert any("C-000001" in sentence and row.sha256 in sentence for sentence in said)
    text = text_of(content)
    assert "0.42" in text
    assert "C-000001" in text


def test_a_failing_reading_is_explained_once_with_its_margin(desk: Desk, world: World) -> None:
    # 0.1 + R with R from IEC 60228 class 5: 1.5 m of 0.75 mm² at 0.0260 ohm/m is 0.039 ohm, so 0.42 is 0.281 over.
    begin_worked_through(desk, world.technician, world.visit_id, BAD_KETTLE)
    certificate_id = issue(desk, world, world.visit_id)
    with desk.reading_only() as session:
        [failed] = get_certificate(session, certificate_id).data["failed"]
    [wrong] = failed["wrong"]
    assert "0.42 Ω" in wrong
    assert "0.139 Ω" in wrong
    assert "0.281 Ω over" in wrong


def test_a_visit_that_is_not_finished_has_no_certificate(desk: Desk, world: World) -> None:
    with pytest.raises(Refused, match="this one is booked"):
        issue(desk, world, world.visit_id)
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    with pytest.raises(Refused, match="this one is under way"):
        issue(desk, world, world.visit_id)
    work_through(desk, world.technician, world.other_visit_id)
    certificate_id = issue(desk, world, world.other_visit_id)
    with desk.reading_only() as session:
        assert get_certificate(session, certificate_id).number == "C-000001"


def test_a_visit_has_one_certificate(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    issue(desk, world, world.visit_id)
    with pytest.raises(Refused, match="is issued: C-000001"):
        issue(desk, world, world.visit_id)
    with desk.reading_only() as session:
        assert count_certificates(session) == 1


def test_two_who_press_at_once_make_one_certificate(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)

    def press(_: int) -> int | None:
        try:
            return issue(desk, world, world.visit_id)
        except Refused:
            return None

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(press, range(4)))
    assert len({answer for answer in answers if answer is not None}) == 1
    with desk.reading_only() as session:
        [row] = list_certificates(session)
        assert (row.number, row.state) == ("C-000001", "issued")
        certificates.open_certificate(desk, row)  # refuses where file and hash do not belong together


def test_a_certificate_that_a_crash_left_is_finished_later(
    desk: Desk, world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)

    def out_of_power(*_: object) -> str:
        raise OSError("no space left on the disk")

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", out_of_power)
        with pytest.raises(OSError, match="no space"):
            issue(desk, world, world.visit_id)
    with desk.reading_only() as session:
        [row] = list_certificates(session)
        assert (row.number, row.state) == ("C-000001", "pending")
        with pytest.raises(Refused, match="still being made"):
            certificates.open_certificate(desk, row)
        left_id = row.id
    assert certificates.finish_pending_certificates(desk) == 1
    assert certificates.finish_pending_certificates(desk) == 0
    with desk.reading_only() as session:
        certificates.open_certificate(desk, get_certificate(session, left_id))


def test_a_file_that_was_changed_or_is_gone_is_not_given_out(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificate_id = issue(desk, world, world.visit_id)
    file = desk.papers_folder / "C-000001.pdf"
    file.write_bytes(file.read_bytes() + b" ")
    with desk.reading_only() as session:
        row = get_certificate(session, certificate_id)
        with pytest.raises(Refused, match="not what was issued"):
            certificates.open_certificate(desk, row)
        file.unlink()
        with pytest.raises(Refused, match="missing"):
            certificates.open_certificate(desk, row)


def test_certificates_are_found_by_number_code_customer_and_premises(desk: Desk, world: World) -> None:
    for visit_id in (world.visit_id, world.other_visit_id):
        work_through(desk, world.technician, visit_id)
        issue(desk, world, visit_id)
    with desk.reading_only() as session:
        newest = list_certificates(session)
        assert [row.number for row in newest] == ["C-000002", "C-000001"]
        for search in ("saltgate", "000002", newest[0].code.lower(), "brewery main"):
            assert [row.number for row in list_certificates(session, search=search)] == ["C-000002"]
            assert count_certificates(session, search=search) == 1
        assert [row.number for row in list_certificates(session, limit=1, offset=1)] == ["C-000001"]
        assert list_certificates(session, search="100%") == []
