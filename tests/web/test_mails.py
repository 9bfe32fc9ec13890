"""The pages of the mail server, its texts, writing a message, and the outbox."""

import hashlib
import re
from collections.abc import Iterator

import pytest

from app.actions.mails import send_waiting_mails
from app.rules.mails import MailServerDetails, Security
from app.store.mails import find_mail_server, list_mails
from tests.mail_catcher import Catcher, mail_server
from tests.web.firm_at_work import FirmAtWork
from tests.web.page_text import fields_of, words_of


@pytest.fixture
def caught(firm_at_work: FirmAtWork) -> Iterator[Catcher]:
    """The firm's mail server, and the firm put back and told about it."""
    firm_at_work.put_back()
    with mail_server() as catcher:
        fields = {
            "host": "127.0.0.1", "port": str(catcher.port), "security": "none", "from_address": "office@example.com",
            "version": "1",
        }  # fmt: skip
        answer = firm_at_work.browse("owner").post("/settings/mail", fields)
        assert answer.headers["location"] == "/settings/mail?saved=details", answer.text
        yield catcher


def letter(visit_id: str, **changed: str) -> dict[str, str]:
    fields = {
        "opens": "visit",
        "id": visit_id,
        "kind": "certificate",
        "to": "ada@example.com",
        "subject": "Papers",
        "body": "See {link}",
        "days": "30",
    }
    return fields | changed


def test_what_was_written_is_sent_as_it_stood(firm_at_work: FirmAtWork, caught: Catcher) -> None:
    office, visit = firm_at_work.browse("office"), firm_at_work.finished_id
    page = office.get(f"/mails/new?opens=visit&id={visit}")
    assert "Saltgate Brewery main site" in page.text and "{link}" in page.text
    answer = office.post("/mails", letter(visit, body="Dear {customer},\r\n\r\n{link}", attach="yes"))
    there = answer.headers["location"]
    assert "waiting" in words_of(office.get(there))
    send_waiting_mails(firm_at_work.app.state.desk)
    assert "sent" in words_of(office.get(there))
    message = caught.messages[-1]
    [paper] = message.iter_attachments()
    assert paper.get_content().startswith(b"%PDF")
    text = message.get_body(("plain",))
    assert text is not None
    assert (
        text.get_content()
        .replace("\r\n", "\n")
        .startswith("Dear Saltgate Brewery,\n\nhttps://office.tarn-alder.example/s/")
    )


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"body": "Dear {custmer}"}, "There is no placeholder {custmer}."),
        ({"to": "nobody"}, "This is not one e-mail address"),
        ({"to": "a@example.com\nBcc: b@example.com"}, "This is not one e-mail address"),
        ({"subject": "Papers\r\nBcc: all@example.com"}, "This must be one line"),
        ({"subject": ""}, "Write something here."),
        ({"days": "400"}, "from 1 to 365"),
        ({"kind": "link", "body": "No address"}, "Leave {link}"),
        ({"opens": "customer", "id": "1", "kind": "folder", "body": "No address"}, "Leave {link}"),
        ({"opens": "customer", "id": "1", "kind": "statement", "body": "{technician}"}, "{technician} says nothing"),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_is_written(
    firm_at_work: FirmAtWork, caught: Catcher, changed: dict[str, str], sentence: str
) -> None:
    before = firm_at_work.contents()
    visit = firm_at_work.finished_id
    answer = firm_at_work.browse("office").post("/mails", letter(visit, **changed))
    assert answer.status_code == 422 and sentence in words_of(answer)
    assert firm_at_work.contents() == before
    assert caught.messages == []


#: What the page opens with, then: how many papers go with it, words of the subject, whether the text has a link.
ABOUT_EVERYTHING = [
    ("opens=certificate&id={certificate_id}", 1, "Our certificate C-", True),
    ("opens=register&id={part_paper_id}", 1, "Our register REG-", True),
    ("opens=item-certificate&id={paper_id}", 1, "Our item certificate ", True),
    ("opens=quote&id={quote_id}", 1, "Quote Q-", False),
    ("opens=invoice&id={invoice_id}", 1, "Invoice INV-", False),
    ("opens=credit-note&id={credit_note_id}", 1, "Credit note CN-", False),
    ("opens=claim&id={claim_id}", 1, "Late payment: ", False),
    ("opens=premises&id={premises_id}", 0, "Your papers from", True),
    ("opens=customer&id={customer_id}", 0, "all your premises", True),
    ("opens=customer&id={late_customer_id}&kind=statement", 1, "Statement of account", False),
    ("opens=customer&id={late_customer_id}&kind=reminder&tone=firm", 1, "Overdue: £", False),
]


def test_what_each_page_offers_arrives_whole_with_its_paper_and_its_link(
    firm_at_work: FirmAtWork, caught: Catcher
) -> None:
    """The form of each page is sent as it stands; what arrives is read by the standard library's own parser."""
    office, nobody = firm_at_work.browse("office"), firm_at_work.browse("nobody")
    desk = firm_at_work.app.state.desk
    for number, (asked, papers, subject, linked) in enumerate(ABOUT_EVERYTHING, 1):
        page = office.get(f"/mails/new?{asked.format(**firm_at_work.ids)}")
        assert page.status_code == 200, asked
        fields = fields_of(page) | {"to": "ada@example.com"}
        assert not re.search(r"\{(?!link)[a-z ]+\}", fields["subject"] + fields["body"]), fields
        answer = office.post("/mails", fields)
        assert answer.status_code == 303, words_of(answer)
        assert send_waiting_mails(desk) == (2 if number == 1 else 1)  # the firm at work has one that waits
        shown, message = office.get(answer.headers["location"]), caught.messages[-1]
        assert "State sent" in words_of(shown), words_of(shown)
        assert subject in message["Subject"] and message.defects == []
        attached = [part.get_content() for part in message.iter_attachments()]
        assert len(attached) == papers and all(each.startswith(b"%PDF") for each in attached), asked
        for each in attached:
            assert hashlib.sha256(each).hexdigest() in shown.text
        text = message.get_body(("plain",))
        assert text is not None
        found = re.search(r"https://office\.tarn-alder\.example(/s/\S+)", text.get_content())
        assert (found is not None) == linked, asked
        assert found is None or nobody.get(found[1]).status_code == 200


def test_a_statement_stays_as_it_went_and_a_technician_gets_none_of_it(
    firm_at_work: FirmAtWork, caught: Catcher
) -> None:
    office, mail_id = firm_at_work.browse("office"), firm_at_work.ids["mail_id"]
    send_waiting_mails(firm_at_work.app.state.desk)
    [attached] = caught.messages[0].iter_attachments()
    address = f"/mails/{mail_id}/attachments/{firm_at_work.ids['attachment_id']}.pdf"
    assert address in office.get(f"/mails/{mail_id}").text
    assert office.get(address).content == attached.get_content()
    assert office.get(address.replace(f"/{mail_id}/", "/999/")).status_code == 404
    technician = firm_at_work.browse("technician")
    for path in ("/customers/{customer_id}", "/premises/{premises_id}"):
        assert "/mails/new" in office.get(path.format(**firm_at_work.ids)).text
        assert "/mails/new" not in technician.get(path.format(**firm_at_work.ids)).text


def test_without_a_server_text_and_address_are_offered_for_copying(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    firm_at_work.browse("owner").post("/settings/mail/remove")
    page = firm_at_work.browse("office").get(f"/mails/new?opens=visit&id={firm_at_work.finished_id}&kind=invoice")
    assert "data-copy" in page.text and "No mail server is set up" in page.text
    assert 'action="/mails"' not in page.text


def test_the_test_message_arrives_and_a_dead_server_says_so(firm_at_work: FirmAtWork, caught: Catcher) -> None:
    owner = firm_at_work.browse("owner")
    answer = owner.post("/settings/mail/test")
    assert answer.headers["location"] == "/settings/mail?saved=test"
    assert caught.recipients == [["ines@tarn-alder.example"]]
    caught.refuse_recipient = "550 not here"
    answer = owner.post("/settings/mail/test")
    assert answer.status_code == 409 and "550 not here" in answer.text


def test_the_password_is_never_shown_again(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    owner, secret = firm_at_work.browse("owner"), "heron-on-the-weir"
    fields = {
        "host": "smtp.example.com", "port": "587", "security": "starttls", "user": "office", "version": "1",
        "from_address": "office@example.com", "password": secret,
    }  # fmt: skip
    assert owner.post("/settings/mail", fields).status_code == 303
    page = owner.get("/settings/mail")
    assert "One is kept" in page.text and secret not in page.text
    again = owner.post("/settings/mail", fields | {"port": "x", "version": "2"})
    assert again.status_code == 422 and secret not in again.text
    open_line = owner.post("/settings/mail", fields | {"security": "none", "version": "2"})
    assert open_line.status_code == 422 and "for anybody to read" in words_of(open_line)
    with firm_at_work.database.reading() as session:
        row = find_mail_server(session)
        assert row is not None and row.details == MailServerDetails(
            "smtp.example.com", 587, Security.STARTTLS, "office", "office@example.com"
        )
    owner.post("/settings/mail/remove")


def test_the_firms_own_text_is_used_from_then_on(firm_at_work: FirmAtWork, caught: Catcher) -> None:
    office = firm_at_work.browse("office")
    texts = {f"{kind}_{part}": f"Our {kind} {part} {{link}}" if part == "body" else f"Our {kind}"
             for kind in ("certificate", "invoice", "link") for part in ("subject", "body")}  # fmt: skip
    assert office.post("/mail-texts", texts).status_code == 303
    assert "Our link body" in office.get(f"/mails/new?opens=visit&id={firm_at_work.finished_id}&kind=link").text
    wrong = office.post("/mail-texts", texts | {"invoice_body": "{total}"})
    assert wrong.status_code == 422 and "There is no placeholder {total}." in wrong.text


def test_a_message_is_stopped_and_sent_after_all(firm_at_work: FirmAtWork, caught: Catcher) -> None:
    office, mail_id = firm_at_work.browse("office"), firm_at_work.ids["mail_id"]
    assert office.post(f"/mails/{mail_id}/stop").status_code == 303
    assert "stopped" in words_of(office.get("/mails"))
    send_waiting_mails(firm_at_work.app.state.desk)
    assert caught.messages == []
    assert office.post(f"/mails/{mail_id}/send").status_code == 303
    send_waiting_mails(firm_at_work.app.state.desk)
    assert len(caught.messages) == 1
    with firm_at_work.database.reading() as session:
        assert [row.word for row in list_mails(session)] == ["sent"]
