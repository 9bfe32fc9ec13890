"""E-mail to customers: the firm's own texts with plain placeholders, the states of a message, when it is tried again.

A placeholder is a name in braces. What is put in its place is not looked at again, and nothing in a text is ever run.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

SUBJECT_MOST, BODY_MOST = 150, 6000
PASSWORD_MOST = 500
#: After so many attempts that came to nothing a person has to look. Our own steps.
WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 720))
ATTEMPTS_MOST = len(WAITS) + 1
#: All that is attached to one message. Many servers take no more than 25 MB, and base 64 adds a third.
ATTACHED_BYTES_MOST = 15_000_000
_PLACEHOLDER = re.compile(r"\{([^{}\n]{0,60})\}")
_ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`|~-]{1,64}@[A-Za-z0-9](?:[A-Za-z0-9.-]{0,251}[A-Za-z0-9])?")
_NOT_IN_A_HEADER = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_HERE = ("localhost", "127.0.0.1", "::1")

PLACEHOLDERS = {
    "contact": "the contact's name, else the customer's",
    "customer": "the customer's name",
    "premises": "the premises",
    "day": "the day of the visit",
    "time": "its time, where one is agreed",
    "technician": "who comes",
    "length": "how long the visit takes",
    "items": "how many items fall due",
    "falls due": "the day on which the first of them falls due",
    "number": "the number of the certificate or invoice",
    "amount": "what is to be paid, on an invoice",
    "due": "the day by which it is to be paid",
    "link": "the address of the share link; it is made as the message leaves",
    "firm": "the firm's name",
    "sender": "who writes",
}
LINK = "{link}"


class MailKind(StrEnum):
    CERTIFICATE = "certificate"
    INVOICE = "invoice"
    LINK = "link"
    BOOKING = "booking"
    COMING = "coming"
    CALLED_OFF = "called-off"
    RECALL = "recall"

    @property
    def word(self) -> str:
        return {
            "link": "share link alone",
            "booking": "booking confirmed",
            "coming": "visit coming up",
            "called-off": "visit called off",
            "recall": "tests fall due",
        }.get(self.value, self.value)


#: About a visit that is still to come; the first has an invitation for the customer's calendar with it.
BEFORE_THE_VISIT = (MailKind.BOOKING, MailKind.COMING)
#: About a visit that is over.
AFTER_THE_VISIT = (MailKind.CERTIFICATE, MailKind.INVOICE, MailKind.LINK)


class MailState(StrEnum):
    WAITING = "waiting"
    SENDING = "sending"
    SENT = "sent"
    FAILED = "failed"
    STOPPED = "stopped"
    PRINTED = "printed"

    @property
    def word(self) -> str:
        return {"sending": "being sent"}.get(self.value, self.value)


class Security(StrEnum):
    STARTTLS = "starttls"
    TLS = "tls"
    NONE = "none"

    @property
    def word(self) -> str:
        return {"starttls": "STARTTLS, usually on port 587", "tls": "TLS from the start, usually on port 465"}.get(
            self.value, "none"
        )


@dataclass(frozen=True)
class MailText:
    subject: str
    body: str


@dataclass(frozen=True)
class MailServerDetails:
    """The firm's own server for outgoing mail. user may be empty where the server asks for none."""

    host: str
    port: int
    security: Security
    user: str
    from_address: str


FIRST_TEXTS = {
    MailKind.CERTIFICATE: MailText(
        "Certificate {number}: {premises}, {day}",
        "Dear {contact},\n\n"
        "The equipment at {premises} was inspected and tested on {day}. Certificate {number} says what passed, what "
        "failed and what to do about it.\n\n"
        "You can also read it, and fetch every paper of the visit, at this address. Keep it to yourself, for it opens "
        "without a password:\n\n{link}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.INVOICE: MailText(
        "Invoice {number} from {firm}",
        "Dear {contact},\n\n"
        "Here is invoice {number} for our work at {premises}: {amount}, to be paid by {due}.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.LINK: MailText(
        "Inspection and test at {premises}, {day}",
        "Dear {contact},\n\n"
        "The papers of our visit to {premises} on {day} are at this address. Keep it to yourself, for it opens without "
        "a password:\n\n{link}\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.BOOKING: MailText(
        "Your visit on {day}: {premises}",
        "Dear {contact},\n\n"
        "Thank you for booking us. {technician} comes to {premises} on {day}{time} to inspect and test your electrical "
        "equipment, and will need about {length}.\n\n"
        "Please have the equipment where it is used, and tell whoever works there that each piece is unplugged for a "
        "few minutes. Please say which ones must not be switched off.\n\n"
        "If the day does not suit you, tell us and we will find another.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.COMING: MailText(
        "We come on {day}: {premises}",
        "Dear {contact},\n\n"
        "A short word to remind you that {technician} comes to {premises} on {day}{time}, for about {length}.\n\n"
        "Please keep the way to the equipment clear, and tell us if anything has changed.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.CALLED_OFF: MailText(
        "Called off: our visit on {day}",
        "Dear {contact},\n\n"
        "Our visit to {premises} on {day}{time} does not take place. We are sorry for the trouble and will be in "
        "touch about another day.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
    MailKind.RECALL: MailText(
        "Your tests fall due: {premises}",
        "Dear {contact},\n\n"
        "By our records {items} at {premises} fall due for the next inspection and test, the first on {falls due}.\n\n"
        "Shall we come? Answer this letter or call us, and we will find a day that suits you. The interval is a "
        "suggestion by what the equipment is and where it is used; the dutyholder decides what is soon enough.\n\n"
        "With kind regards\n{sender}\n{firm}",
    ),
}


def check_mail_text(text: MailText, values: Mapping[str, str] | None = None) -> dict[str, str]:
    """What is wrong, by field name. values: those already put in, whose own braces are no placeholders."""
    known = " ".join((values or {}).values())
    mistakes = {}
    for name, words, most in (("subject", text.subject, SUBJECT_MOST), ("body", text.body, BODY_MOST)):
        found = dict.fromkeys(f"{{{word}}}" for word in _PLACEHOLDER.findall(words) if word not in PLACEHOLDERS)
        unknown = [word for word in found if word not in known]
        if not words.strip():
            mistakes[name] = "Write something here."
        elif len(words) > most:
            mistakes[name] = f"Use at most {most} characters; there are {len(words)}."
        elif unknown:
            mistakes[name] = f"There is no placeholder {', '.join(unknown)}."
    if "subject" not in mistakes and (sentence := check_header(text.subject)):
        mistakes["subject"] = sentence
    if "subject" not in mistakes and LINK in text.subject:
        mistakes["subject"] = "The link does not belong in a subject, which anybody on the way can read."
    return mistakes


def describe_mail(text: MailText, values: Mapping[str, str]) -> MailText:
    """Put the values in place of their placeholders, in one pass; a placeholder without a value stays."""

    def fill(words: str) -> str:
        return _PLACEHOLDER.sub(lambda found: values.get(found[1], found[0]), words)

    return MailText(" ".join(fill(text.subject).split()), fill(text.body).strip())


def check_header(text: str) -> str:
    """Say what is wrong with the text of a header field, or nothing. RFC 5322, 2.2: no line may end inside it."""
    return "This must be one line, without control characters." if _NOT_IN_A_HEADER.search(text) else ""


def check_mail_address(address: str) -> str:
    """Say what is wrong with one e-mail address, or nothing. Plain ones alone (RFC 5321, 4.1.2, without quoting)."""
    if not address:
        return "Give an e-mail address."
    local, _, domain = address.partition("@")
    dotted = ".." in address or local.startswith(".") or local.endswith(".") or "." not in domain
    if len(address) > 254 or dotted or not _ADDRESS.fullmatch(address):
        return "This is not one e-mail address, such as ada@example.com."
    return ""


def check_mail_server(details: MailServerDetails, has_password: bool) -> dict[str, str]:
    """What is wrong with the details of the server, by field name."""
    mistakes = {}
    if not re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.:-]{0,252}[A-Za-z0-9])?", details.host):
        mistakes["host"] = "Give the server's name, such as smtp.example.com."
    if not 1 <= details.port <= 65535:
        mistakes["port"] = "Give a port from 1 to 65535."
    if sentence := check_header(details.user):
        mistakes["user"] = sentence
    if details.security == Security.NONE and (details.user or has_password) and details.host not in _HERE:
        mistakes["security"] = (
            "A user name and password would cross the network for anybody to read. Choose an encryption."
        )
    if sentence := check_mail_address(details.from_address):
        mistakes["from_address"] = sentence
    return mistakes


def next_wait(attempts: int) -> timedelta | None:
    """How long to wait after so many attempts that came to nothing; nothing when it was the last one."""
    return WAITS[attempts - 1] if attempts <= len(WAITS) else None
