"""A real SMTP server on loopback, which keeps what it is given and can be told to refuse."""

import email
import email.policy
import socket
import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

USER, PASSWORD = "office", "a password of the mail server"


class Catcher:
    """What arrived, and what to answer. on_data is called before a message is answered."""

    def __init__(self) -> None:
        self.messages: list[EmailMessage] = []
        self.recipients: list[list[str]] = []
        self.refuse_recipient = ""
        self.answer_to_data = "250 taken"
        self.on_data: Callable[[], None] = lambda: None
        self.port = 0

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if self.refuse_recipient:
            return self.refuse_recipient
        envelope.rcpt_tos.append(address)
        return "250 ok"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        assert isinstance(message, EmailMessage)
        self.messages.append(message)
        self.recipients.append(list(envelope.rcpt_tos))
        self.on_data()
        return self.answer_to_data


@contextmanager
def mail_server(
    catcher: Catcher | None = None, port: int = 0, tls: ssl.SSLContext | None = None, login: bool = False
) -> Iterator[Catcher]:
    """Run the server while the block runs. tls: it offers STARTTLS and insists on it; login: it wants USER."""
    catcher = catcher or Catcher()
    catcher.port = port or free_port()

    def known(server: Any, session: Any, envelope: Any, mechanism: str, given: Any) -> AuthResult:
        right = isinstance(given, LoginPassword) and (given.login, given.password) == (
            USER.encode(),
            PASSWORD.encode(),
        )
        return AuthResult(success=right, handled=False)

    options: dict[str, Any] = {"tls_context": tls, "require_starttls": True} if tls else {}
    if login:
        options |= {"authenticator": known, "auth_required": True, "auth_require_tls": tls is not None}
    controller = Controller(catcher, hostname="127.0.0.1", port=catcher.port, **options)
    controller.start()
    try:
        yield catcher
    finally:
        controller.stop()


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])
