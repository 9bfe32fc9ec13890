"""E-mail to customers: the states of a message, when it is tried again, addresses and headers, the firm's server."""

import re
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

PASSWORD_MOST = 500
#: After so many attempts that came to nothing a person has to look. Our own steps.
WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 720))
ATTEMPTS_MOST = len(WAITS) + 1
#: All that is attached to one message. Many servers take no more than 25 MB, and base 64 adds a third.
ATTACHED_BYTES_MOST = 15_000_000
_ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`|~-]{1,64}@[A-Za-z0-9](?:[A-Za-z0-9.-]{0,251}[A-Za-z0-9])?")
_NOT_IN_A_HEADER = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_HERE = ("localhost", "127.0.0.1", "::1")


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
class MailServerDetails:
    """The firm's own server for outgoing mail. user may be empty where the server asks for none."""

    host: str
    port: int
    security: Security
    user: str
    from_address: str


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
