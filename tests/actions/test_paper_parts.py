"""Issuing a certificate in parts: numbered once, every file with its hash, whole after any kill, and frozen."""

import hashlib
import os
import signal
import time

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from app.actions import certificates, mail_servers, mail_topics, revisions
from app.actions.deeds import Desk
from app.actions.drawings import watch_drawing
from app.actions.paper_files import collect_files
from app.documents.drawing import DRAWERS, NotDrawn
from app.rules.mail_texts import MailText
from app.rules.mails import MailServerDetails, Security
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import get_certificate
from app.store.checked_papers import find_checked_paper
from app.store.journal import list_journal
from app.store.paper_parts import list_paper_parts
from tests.actions.test_revisions import give_serial
from tests.cast import World
from tests.finished_visits import begin_worked_through
from tests.mail_topics import about_visit


@pytest.fixture(autouse=True)
def in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two rows a file instead of hundreds: the three items of the cast make two parts."""
    monkeypatch.setattr("app.documents.parts.MOST_ROWS", 2)


def test_a_long_certificate_has_one_number_and_every_part_its_hash(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificate_id = certificates.issue_certificate(desk, world.office, world.visit_id)
    names = {"C-000001.pdf", "C-000001-part-01.pdf", "C-000001-part-02.pdf"}
    assert {path.name for path in desk.papers_folder.iterdir()} == names
    with desk.reading_only() as session:
        row = get_certificate(session, certificate_id)
        parts = list_paper_parts(session, "certificate", certificate_id)
        assert [(part.items, part.first_item, part.last_item) for part in parts] == [
            (2, "0001", "0002"),
            (1, "0003", "0003"),
        ]
        for path, sha256 in collect_files(desk.papers_folder, row, parts):
            assert hashlib.sha256(path.read_bytes()).hexdigest() == sha256
        checked = find_checked_paper(session, row.code, desk.today)
        assert checked is not None
        assert [part.sha256 for part in checked.parts] == [part.sha256 for part in parts]
        assert any("in 2 parts" in line.sentence for line in list_journal(session, "certificate", certificate_id))
        (desk.papers_folder / parts[1].file_name).write_bytes(b"%PDF-1.7 other")
        with pytest.raises(Refused, match="part-02.pdf is not what was issued"):
            collect_files(desk.papers_folder, row, parts)
    for change in ("UPDATE paper_parts SET sha256 = 'x'", "DELETE FROM paper_parts"):
        with pytest.raises(DatabaseError, match="frozen"), desk.doing(world.owner) as deed:
            deed.session.execute(text(change))


def test_a_kill_leaves_it_pending_with_no_part_and_the_next_start_finishes_it(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id, patience=0)
    drawing = watch_drawing(desk, "certificate", 1)
    assert drawing is not None
    until = time.monotonic() + 60
    while drawing.under_way and time.monotonic() < until:  # whatever draws is killed, and what comes after it
        for process in DRAWERS.processes():
            os.kill(process, signal.SIGKILL)
        time.sleep(0.01)
    with pytest.raises(NotDrawn, match="ended before it was done"):
        drawing.wait(60)
    assert "try again" in drawing.problem
    with desk.reading_only() as session:
        assert get_certificate(session, 1).state == "pending"
        assert list_paper_parts(session, "certificate", 1) == []
    assert list(desk.papers_folder.iterdir()) == []
    assert certificates.finish_pending_certificates(desk) == 1
    with desk.reading_only() as session:
        files = collect_files(
            desk.papers_folder, get_certificate(session, 1), list_paper_parts(session, "certificate", 1)
        )
    assert len(files) == 3


def test_a_correction_has_parts_of_its_own_and_a_void_one_keeps_them(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    first_id = certificates.issue_certificate(desk, world.office, world.visit_id)
    give_serial(desk, world, "FG 4711")
    new_id = revisions.revise_certificate(desk, world.office, first_id, "The serial number was missing")
    with desk.doing(world.office) as deed:
        revisions.void_certificate(deed, new_id, "The visit was of another school")
    with desk.reading_only() as session:
        for certificate_id, stem in ((first_id, "C-000001"), (new_id, "C-000001-R2")):
            row, parts = (
                get_certificate(session, certificate_id),
                list_paper_parts(session, "certificate", certificate_id),
            )
            names = [path.name for path, _ in collect_files(desk.papers_folder, row, parts)]
            assert names == [f"{stem}.pdf", f"{stem}-part-01.pdf", f"{stem}-part-02.pdf"]


def test_an_email_takes_the_cover_only_beside_a_link_to_the_parts(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    server = MailServerDetails("127.0.0.1", 9, Security.NONE, "", "office@tarn-alder.example")
    with desk.doing(world.office) as deed:
        mail_servers.change_mail_server(deed, desk.keys_folder, server, "", None)
    alone, linked = MailText("The certificate", "It is attached."), MailText("The certificate", "All of it: {link}")
    with pytest.raises(Mistakes, match="2 more files"), desk.doing(world.office) as deed:
        mail_topics.put_in_outbox(deed, about_visit(world), "ada@example.com", alone)
    with desk.doing(world.office) as deed:
        assert mail_topics.put_in_outbox(deed, about_visit(world), "ada@example.com", linked).id
