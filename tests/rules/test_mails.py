"""The texts of e-mails: their placeholders, what may stand in a header field, and when a message is tried again.

RFC 5322, 2.2 and 2.2.3: a header field ends where its line ends. RFC 5321, 4.1.2 and 4.5.3.1: what an address is.
"""

from datetime import timedelta

import pytest

from app.rules.mail_texts import (
    FIRST_TEXTS,
    PLACEHOLDERS,
    MailKind,
    MailText,
    check_mail_text,
    describe_mail,
    list_placeholders,
)
from app.rules.mails import (
    ATTEMPTS_MOST,
    MailServerDetails,
    Security,
    check_header,
    check_mail_address,
    check_mail_server,
    next_wait,
)


@pytest.mark.parametrize("kind", FIRST_TEXTS)
def test_the_first_texts_have_no_mistake(kind: MailKind) -> None:
    assert check_mail_text(FIRST_TEXTS[kind], kind) == {}


def test_values_are_put_in_once_and_not_looked_at_again() -> None:
    text = describe_mail(MailText("To {customer}", "{customer}, {firm}: {link}"), {"customer": "{firm}", "firm": "F"})
    assert text == MailText("To {firm}", "{firm}, F: {link}")


def test_an_unknown_placeholder_is_a_mistake_of_its_field() -> None:
    wrong = check_mail_text(MailText("{custmer}", "{__class__} and {0.x}"), MailKind.LINK)
    assert wrong["subject"] == "There is no placeholder {custmer}."
    assert "{__class__}" in wrong["body"] and "{0.x}" in wrong["body"]
    assert check_mail_text(MailText("A", "Dear A {B} C"), MailKind.LINK, {"customer": "A {B} C"}) == {}


def test_a_placeholder_that_says_nothing_in_a_message_is_a_mistake_there() -> None:
    text = MailText("Quote {number}", "{technician} comes for {length}; {customer}")
    wrong = check_mail_text(text, MailKind.QUOTE, {"customer": "A {length} B"})
    assert wrong == {"body": "{technician} says nothing in this message. Take it out."}
    assert "body" in check_mail_text(MailText("A", "{link}"), MailKind.BOOKING)
    assert {kind for kind in MailKind if set(list_placeholders(kind)) - set(PLACEHOLDERS)} == {MailKind.REMINDER}


def test_the_link_stands_in_no_subject() -> None:
    assert "subject" in check_mail_text(MailText("See {link}", "x"), MailKind.LINK)


@pytest.mark.parametrize("ending", ["\n", "\r", "\r\n", "\x00", "\x0b", "\x0c", "\x85", "\u2028", "\u2029", "\x7f"])
def test_nothing_that_could_end_a_line_stands_in_a_header(ending: str) -> None:
    assert check_header(f"Papers{ending}Bcc: all@example.com")
    assert "subject" in check_mail_text(MailText(f"Papers{ending}Bcc: all@example.com", "x"), MailKind.LINK)
    assert check_mail_address(f"ada@example.com{ending}")
    assert check_mail_address(f"ada@example.com{ending}RCPT TO:<all@example.com>")


@pytest.mark.parametrize(
    "address",
    ["", "ada", "ada@", "@example.com", "ada@example", "a b@example.com", "ada@example.com, bo@example.com",
     "<ada@example.com>", "Ada <ada@example.com>", "ada@@example.com", "ada@exa..mple.com", ".ada@example.com",
     "ada@-example.com", "x" * 65 + "@example.com", '"a"@example.com'],
)  # fmt: skip
def test_what_is_no_plain_address_is_refused(address: str) -> None:
    assert check_mail_address(address)


@pytest.mark.parametrize("address", ["ada@example.com", "ada.lomas+papers@mail.example.co.uk", "o'hara@example.com"])
def test_a_plain_address_is_taken(address: str) -> None:
    assert check_mail_address(address) == ""


def test_a_password_never_crosses_the_network_in_the_clear() -> None:
    def details(host: str, security: Security, user: str = "") -> MailServerDetails:
        return MailServerDetails(host, 25, security, user, "office@example.com")

    assert "security" in check_mail_server(details("smtp.example.com", Security.NONE, "office"), False)
    assert "security" in check_mail_server(details("smtp.example.com", Security.NONE), True)
    assert check_mail_server(details("smtp.example.com", Security.STARTTLS, "office"), True) == {}
    assert check_mail_server(details("localhost", Security.NONE, "office"), True) == {}
    assert "host" in check_mail_server(details("smtp.example.com\r\nx", Security.TLS), False)


def test_the_waits_grow_and_end() -> None:
    waits = [next_wait(attempt) for attempt in range(1, ATTEMPTS_MOST + 1)]
    assert waits[-1] is None
    shown = [wait for wait in waits if wait is not None]
    assert shown == sorted(set(shown)) and shown[0] == timedelta(minutes=1)


def test_every_placeholder_has_a_meaning_to_show() -> None:
    assert all(PLACEHOLDERS.values())
