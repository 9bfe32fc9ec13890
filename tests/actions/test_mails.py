"""The outbox against a real SMTP server on loopback: delivered whole, refused, down and up again, never a token kept.

Headers and their lines: RFC 5322. Storage of secrets: OWASP ASVS 5.0, 6.5.2.
"""

import hashlib
import re
import ssl
import stat
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from sqlalchemy import select

from app.actions import certificates, invoices, mail_servers, mail_topics, mails, revisions, share_links
from app.actions.backups import back_up
from app.actions.deeds import Desk
from app.actions.mail_servers import PASSWORD_FILE
from app.actions.reminders import suggest_next_tone
from app.local_authority import LocalAuthority
from app.rules.mail_texts import MailKind, MailText
from app.rules.mail_topics import Topic
from app.rules.mails import MailServerDetails, MailState, Security
from app.rules.reminders import Tone
from app.rules.share_links import FolderKind, LinkScope
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import find_certificate_of_visit
from app.store.database import Base
from app.store.invoices import find_invoice_of_visit
from app.store.mails import find_mail_server, get_mail
from app.store.reminders import list_reminders
from app.store.share_links import list_share_links
from tests.cast import Clock, World
from tests.finished_visits import begin_worked_through
from tests.kept_rows import as_kept
from tests.mail_catcher import PASSWORD, USER, Catcher, free_port, mail_server
from tests.mail_topics import about_visit

FROM = "office@tarn-alder.example"
WORDS = MailText("Certificate {number}", "Dear {contact},\n\nsee {link}\n\n{sender}")


@pytest.fixture
def issued(desk: Desk, world: World) -> World:
    return as_kept(desk, _issued, world)


def _issued(desk: Desk, world: World) -> World:
    begin_worked_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, world.visit_id).id
    invoices.issue_invoice(desk, world.office, invoice_id)
    return world


def set_server(
    desk: Desk, world: World, port: int, security: Security = Security.NONE, user: str = "", password: str = ""
) -> None:
    with desk.doing(world.owner) as deed:
        row = find_mail_server(deed.session)
        details = MailServerDetails(
            "localhost" if security != Security.NONE else "127.0.0.1", port, security, user, FROM
        )
        mail_servers.change_mail_server(deed, desk.keys_folder, details, password, row.version if row else None)


def write(
    desk: Desk, world: World, kind: MailKind = MailKind.CERTIFICATE, text: MailText = WORDS,
    to: str = "ada@example.com", attach: bool = True,
) -> int:  # fmt: skip
    with desk.doing(world.office) as deed:
        return mail_topics.put_in_outbox(deed, about_visit(world, kind), to, text, attach).id


def state_of(desk: Desk, mail_id: int) -> tuple[str, int, bool, str]:
    with desk.reading_only() as session:
        row = get_mail(session, mail_id)
        return row.state, row.attempts, row.doubted, row.problem


def test_certificate_and_invoice_arrive_as_they_were_issued(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        first = write(desk, issued)
        second = write(desk, issued, MailKind.INVOICE, MailText("Invoice {number}: {amount}", "By {due}."))
        assert mails.send_waiting_mails(desk) == 2
    with desk.reading_only() as session:
        certificate = find_certificate_of_visit(session, issued.visit_id)
        invoice = find_invoice_of_visit(session, issued.visit_id)
        assert certificate is not None and invoice is not None
        for mail_id, message, paper in (
            (first, caught.messages[0], certificate),
            (second, caught.messages[1], invoice),
        ):
            [attached] = message.iter_attachments()
            content = attached.get_content()
            assert (
                hashlib.sha256(content).hexdigest() == paper.sha256 == get_mail(session, mail_id).attachments[0].sha256
            )
            assert attached.get_content_type() == "application/pdf"
            assert paper.number is not None and paper.number in str(attached.get_filename())
            assert paper.number in message["Subject"]
            assert message["From"].addresses[0].addr_spec == FROM
            assert message["From"].addresses[0].display_name == "Tarn & Alder Electrical Testing"
        assert "£" in caught.messages[1]["Subject"]
    assert caught.recipients == [["ada@example.com"]] * 2
    assert state_of(desk, first)[:3] == ("sent", 1, False)


def test_the_link_in_a_message_opens_and_its_token_is_kept_nowhere(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued, MailKind.LINK)
        assert mails.send_mail(desk, mail_id) == MailState.SENT
    body = caught.messages[0].get_content()
    found = re.search(r"https://office\.tarn-alder\.example/s/(\S+)", body)
    assert found is not None and "{link}" not in body
    assert list(caught.messages[0].iter_attachments()) == []
    with desk.reading_only() as session:
        assert get_mail(session, mail_id).share_link_id == list_share_links(session)[0].id
        rows = [repr(tuple(row)) for table in Base.metadata.sorted_tables for row in session.execute(select(table))]
    assert len(rows) > 50 and not [row for row in rows if found[1] in row or found[1][:20] in row]
    assert share_links.try_share_link(desk, found[1], "203.0.113.5") is not None


def test_a_refused_recipient_fails_at_once_and_leaves_no_open_link(desk: Desk, issued: World, clock: Clock) -> None:
    with mail_server() as caught:
        caught.refuse_recipient = "550 nobody of this name"
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued)
        assert mails.send_mail(desk, mail_id) == MailState.FAILED
        state, attempts, doubted, problem = state_of(desk, mail_id)
        assert (attempts, doubted) == (1, False) and "550 nobody of this name" in problem
        with desk.reading_only() as session:
            assert [row.state_on(clock.today) for row in list_share_links(session)] == ["withdrawn"]
        caught.refuse_recipient = ""
        with desk.doing(issued.office) as deed:
            mails.try_mail_again(deed, mail_id)
        assert mails.send_mail(desk, mail_id) == MailState.SENT
    assert len(caught.messages) == 1
    with pytest.raises(Refused, match="is sent"), desk.doing(issued.office) as deed:
        mails.try_mail_again(deed, mail_id)


def test_a_server_that_is_busy_is_asked_again(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        caught.answer_to_data = "451 later, please"
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued)
        assert mails.send_mail(desk, mail_id) == MailState.WAITING
    assert "451 later, please" in state_of(desk, mail_id)[3]
    assert state_of(desk, mail_id)[2] is False


def test_down_then_up(desk: Desk, issued: World, clock: Clock) -> None:
    port = free_port()
    set_server(desk, issued, port)
    mail_id = write(desk, issued)
    assert mails.send_waiting_mails(desk) == 1
    assert state_of(desk, mail_id)[:3] == ("waiting", 1, False)
    assert "cannot be reached" in state_of(desk, mail_id)[3]
    with mail_server(port=port) as caught:
        assert mails.send_waiting_mails(desk) == 0  # its time has not come
        clock.pass_time(minutes=1)
        assert mails.send_waiting_mails(desk) == 1
    assert state_of(desk, mail_id)[:2] == ("sent", 2)
    assert len(caught.messages) == 1


def test_a_message_fails_in_the_end_and_is_not_tried_for_ever(desk: Desk, issued: World, clock: Clock) -> None:
    set_server(desk, issued, free_port())
    mail_id = write(desk, issued)
    tried = 0
    for _ in range(60):
        tried += mails.send_waiting_mails(desk)
        clock.pass_time(hours=1)
    assert (state_of(desk, mail_id)[:2], tried) == (("failed", 7), 7)


def test_what_broke_off_is_sent_again_under_the_same_id_and_says_so(desk: Desk, issued: World) -> None:
    """What a process leaves that ends there; tests/network kills a real one."""
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued)
        assert mails._claim(desk, mail_id) is not None
        assert state_of(desk, mail_id)[0] == "sending"
        assert mails.send_waiting_mails(desk) == 0
        assert mails.take_up_broken_off_mails(desk) == 1
        assert mails.send_waiting_mails(desk) == 1
    with desk.reading_only() as session:
        row = get_mail(session, mail_id)
        assert row.word == "may have been sent twice"
        assert caught.messages[0]["Message-ID"] == row.message_id


def test_starttls_and_a_login_with_the_kept_password(
    desk: Desk, issued: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = LocalAuthority(tmp_path / "own").server_files(("localhost",), ("127.0.0.1",), datetime.now(UTC))
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(tmp_path / "own" / "server.crt", tmp_path / "own" / "server.key")
    with mail_server(tls=context, login=True) as caught:
        set_server(desk, issued, caught.port, Security.STARTTLS, USER, PASSWORD)
        mail_id = write(desk, issued)
        assert mails.send_mail(desk, mail_id) == MailState.WAITING  # nobody vouches for this server
        assert "No secure connection" in state_of(desk, mail_id)[3]
        assert caught.messages == []
        vouching = tmp_path / "vouching.pem"
        vouching.write_bytes(files.authority.public_bytes(Encoding.PEM))
        monkeypatch.setenv("SSL_CERT_FILE", str(vouching))
        with desk.doing(issued.office) as deed:
            mails.try_mail_again(deed, mail_id)
        assert mails.send_mail(desk, mail_id) == MailState.SENT
        wrong = write(desk, issued)
        assert mails.send_mail(replace(desk, mail_password="another one"), wrong) == MailState.WAITING
        assert "user name and password" in state_of(desk, wrong)[3]
    assert len(caught.messages) == 1


def test_the_password_is_for_one_server_in_a_file_of_its_own(desk: Desk, issued: World, tmp_path: Path) -> None:
    set_server(desk, issued, 587, Security.STARTTLS, USER, PASSWORD)
    file = desk.keys_folder / PASSWORD_FILE
    assert file.read_text("utf-8") == PASSWORD
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    with desk.reading_only() as session:
        rows = [repr(tuple(row)) for table in Base.metadata.sorted_tables for row in session.execute(select(table))]
    assert not [row for row in rows if PASSWORD in row]
    back_up(desk.database, desk.papers_folder, tmp_path / "backup", desk.now)
    kept = [path for path in (tmp_path / "backup").rglob("*") if path.is_file()]
    assert kept and not [path for path in kept if PASSWORD.encode() in path.read_bytes()]
    set_server(desk, issued, 587, Security.STARTTLS, USER)
    assert file.exists()
    set_server(desk, issued, 588, Security.STARTTLS, USER)
    assert not file.exists()


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r", "\x85", "\u2028"])
def test_no_line_of_a_header_can_be_put_in(desk: Desk, issued: World, ending: str) -> None:
    set_server(desk, issued, 9)
    added = f"{ending}Bcc: all@example.com"
    with pytest.raises(Mistakes) as wrong:
        write(desk, issued, text=MailText(f"Papers{added}", "x"))
    assert set(wrong.value.messages) == {"subject"}
    with pytest.raises(Mistakes) as wrong:
        write(desk, issued, to=f"ada@example.com{added}")
    assert set(wrong.value.messages) == {"to"}
    for firm, to, subject in ((f"T{added}", "a@example.com", "x"), ("T", f"a@example.com{added}", "x"),
                              ("T", "a@example.com", f"x{added}")):  # fmt: skip
        with pytest.raises(Mistakes):
            mail_servers.compose(FROM, firm, to, MailText(subject, "x"), "<1@example.com>", desk)


def test_a_stopped_message_is_not_sent(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued)
        with desk.doing(issued.office) as deed:
            mails.stop_mail(deed, mail_id)
        assert mails.send_waiting_mails(desk) == 0
        assert mails.send_mail(desk, mail_id) == MailState.STOPPED
    assert caught.messages == []


def test_a_damaged_paper_is_not_sent(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued)
        for file in desk.papers_folder.glob("*.pdf"):
            file.write_bytes(file.read_bytes() + b" ")
        assert mails.send_mail(desk, mail_id) == MailState.FAILED
    assert "SHA-256 differs" in state_of(desk, mail_id)[3]
    assert caught.messages == []


def test_a_test_goes_to_whoever_asks(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        assert mail_servers.send_test(desk, issued.owner) == "ines@tarn-alder.example"
    assert caught.recipients == [["ines@tarn-alder.example"]]
    with pytest.raises(Refused, match="cannot be reached"):
        mail_servers.send_test(desk, issued.owner)


def test_without_a_server_or_a_paper_nothing_is_written(desk: Desk, issued: World) -> None:
    with pytest.raises(Refused, match="no mail server"):
        write(desk, issued)
    set_server(desk, issued, 9)
    with pytest.raises(Refused, match="not issued"), desk.doing(issued.office) as deed:
        other = LinkScope(issued.other_customer_id, visit_id=issued.other_visit_id)
        mail_topics.put_in_outbox(deed, Topic(MailKind.CERTIFICATE, other), "a@example.com", WORDS)


def test_two_at_once_send_one(desk: Desk, issued: World) -> None:
    with mail_server(Catcher()) as caught:
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued)
        with ThreadPoolExecutor(4) as pool:
            list(pool.map(lambda _: mails.send_mail(desk, mail_id), range(4)))
    assert len(caught.messages) == 1
    assert state_of(desk, mail_id)[:2] == ("sent", 1)


def test_a_link_to_one_paper_opens_it_alone_and_goes_when_the_message_did_not(desk: Desk, issued: World) -> None:
    with desk.doing(issued.office) as deed:
        certificate = find_certificate_of_visit(deed.session, issued.visit_id)
        assert certificate is not None
        scope = LinkScope(issued.customer_id, paper=(FolderKind.CERTIFICATE, certificate.id))
    with mail_server() as caught:
        caught.refuse_recipient = "550 nobody of this name"
        set_server(desk, issued, caught.port)
        with desk.doing(issued.office) as deed:
            topic = Topic(MailKind.PAPER, scope)
            mail_id = mail_topics.put_in_outbox(deed, topic, "ada@example.com", MailText("{paper}", "{link}"), False).id
        assert mails.send_mail(desk, mail_id) == MailState.FAILED
        caught.refuse_recipient = ""
        with desk.doing(issued.office) as deed:
            mails.try_mail_again(deed, mail_id)
        assert mails.send_mail(desk, mail_id) == MailState.SENT
    with desk.reading_only() as session:
        rows = list_share_links(session)
        assert [(row.scope, row.state_on(desk.today)) for row in rows] == [(scope, "open"), (scope, "withdrawn")]


def test_a_paper_that_no_longer_holds_is_not_sent(desk: Desk, issued: World) -> None:
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        mail_id = write(desk, issued, text=MailText("Papers", "The certificate is attached."))
        with desk.doing(issued.office) as deed:
            certificate = find_certificate_of_visit(deed.session, issued.visit_id)
            assert certificate is not None
            revisions.void_certificate(deed, certificate.id, "The visit was of another school")
        assert mails.send_mail(desk, mail_id) == MailState.FAILED
    assert "no longer holds (void)" in state_of(desk, mail_id)[3] and caught.messages == []


def test_a_reminder_counts_once_it_has_left_in_the_words_that_went(desk: Desk, issued: World, clock: Clock) -> None:
    clock.pass_time(days=60)
    topic = Topic(MailKind.REMINDER, LinkScope(issued.customer_id, with_money=True), tone=Tone.FRIENDLY)
    with desk.reading_only() as session:
        written = mail_topics.write_mail(session, topic, "Bea Holm", desk.today)
        [paper] = written.papers
    with mail_server() as caught:
        set_server(desk, issued, caught.port)
        text = MailText(written.text.subject, f"{written.text.body}\nWe saw each other on Monday.")
        with desk.doing(issued.office) as deed:
            mail_id = mail_topics.put_in_outbox(deed, topic, "ada@example.com", text).id
        with desk.reading_only() as session:
            assert list_reminders(session, issued.customer_id) == []
        assert mails.send_mail(desk, mail_id) == MailState.SENT
    [attached] = caught.messages[0].iter_attachments()
    assert hashlib.sha256(attached.get_content()).hexdigest() == paper.sha256
    with desk.reading_only() as session:
        [kept] = list_reminders(session, issued.customer_id)
        assert (kept.sent_on, kept.invoice_numbers) == (desk.today, [paper.number])
        assert kept.body.endswith("on Monday.")
        assert suggest_next_tone(session, issued.customer_id, desk.today) == Tone.FIRM
