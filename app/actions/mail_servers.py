"""The firm's own server for outgoing mail: its details, its password, its texts, and handing it a message.

The password is that of the settings, else in a file of mode 600 in the folder of the firm's keys, which is in no
backup. It is never in the database.
"""

import os
import smtplib
import ssl
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, make_msgid
from pathlib import Path
from secrets import token_hex

from app.actions.deeds import Deed, Desk, check_version
from app.rules.mail_texts import MailKind, MailText, check_mail_text
from app.rules.mails import MailServerDetails, Security, check_header, check_mail_address, check_mail_server
from app.rules.people import Person
from app.rules.verdicts import Mistakes, Refused
from app.store.firms import get_firm
from app.store.mails import MailServerRow, MailTextRow, find_mail_server, find_mail_text
from app.store.people import get_person

PASSWORD_FILE = "mail-password"
SECONDS = 20


class NotSent(Exception):
    """The server did not take a message. doubted: it may have. final: another attempt would end the same."""

    def __init__(self, sentence: str, doubted: bool = False, final: bool = False) -> None:
        super().__init__(sentence)
        self.sentence, self.doubted, self.final = sentence, doubted, final


@dataclass(frozen=True)
class Attachment:
    file_name: str
    content: bytes


def change_mail_server(
    deed: Deed, keys_folder: Path, details: MailServerDetails, password: str, version: int | None
) -> None:
    """Keep the server's details and, when one is given, its password. Raises Mistakes.

    A kept password goes only to the server that it was entered for: it is forgotten when host, port, encryption or
    user are others, and has to be typed again.
    """
    row = find_mail_server(deed.session)
    same = row is not None and (row.host, row.port, row.security, row.user) == (
        details.host, details.port, details.security.value, details.user,
    )  # fmt: skip
    kept = same and (keys_folder / PASSWORD_FILE).exists()
    if mistakes := check_mail_server(details, bool(password) or kept):
        raise Mistakes(mistakes)
    if row is None:
        row = MailServerRow(id=1)
        deed.session.add(row)
    else:
        check_version(row, version, "the mail server")
    row.host, row.port, row.security = details.host, details.port, details.security.value
    row.user, row.from_address = details.user, details.from_address
    deed.session.flush()
    if password:
        _keep_password(keys_folder, password)
    elif not same:
        (keys_folder / PASSWORD_FILE).unlink(missing_ok=True)
    deed.note("firm", 1, f"Changed the mail server: {details.host}, port {details.port}, {details.security.value}.")


def remove_mail_server(deed: Deed, keys_folder: Path) -> None:
    """Forget the server and its password. Messages that wait stay in the outbox."""
    row = find_mail_server(deed.session)
    if row is not None:
        deed.session.delete(row)
        deed.note("firm", 1, "Removed the mail server.")
    (keys_folder / PASSWORD_FILE).unlink(missing_ok=True)


def change_mail_text(deed: Deed, kind: MailKind, text: MailText) -> None:
    """Change the firm's text of a kind. Raises Mistakes for a placeholder that there is not."""
    if mistakes := check_mail_text(text, kind):
        raise Mistakes({f"{kind.value}_{name}": sentence for name, sentence in mistakes.items()})
    row = find_mail_text(deed.session, kind)
    if row is None:
        row = MailTextRow(kind=kind.value, subject="", body="")
        deed.session.add(row)
    if (row.subject, row.body) != (text.subject, text.body):
        row.subject, row.body = text.subject, text.body
        deed.note("firm", 1, f"Changed the text of e-mails: {kind.word}.")
    deed.session.flush()


def has_password(desk: Desk) -> str:
    """Where the password comes from: "environment", "file", or nothing."""
    if desk.mail_password:
        return "environment"
    return "file" if (desk.keys_folder / PASSWORD_FILE).exists() else ""


def send_test(desk: Desk, person: Person) -> str:
    """Send a short message to the person who asks and give the address. Refuses with what the server said."""
    with desk.reading_only() as session:
        row = find_mail_server(session)
        if row is None:
            raise Refused("There is no mail server yet. Save its details first.")
        details, firm = row.details, get_firm(session).name
        to = get_person(session, person.id).email
    text = MailText(f"A test from {firm}", "This message shows that Ohmstead can send e-mail through your server.\n")
    message = compose(details.from_address, firm, to, text, new_message_id(details), desk)
    try:
        deliver(details, open_password(desk), message)
    except NotSent as problem:
        raise Refused(f"The test was not sent. {problem.sentence}") from problem
    return to


def new_message_id(details: MailServerDetails) -> str:
    """A Message-ID of its own (RFC 5322, 3.6.4), under the domain that the mail comes from."""
    return make_msgid(domain=details.from_address.partition("@")[2])


def compose(
    from_address: str,
    from_name: str,
    to: str,
    text: MailText,
    message_id: str,
    desk: Desk,
    attached: Sequence[Attachment] = (),
    invitation: str = "",
) -> EmailMessage:
    """The message as it goes over the wire. Raises Mistakes for what may not stand in a header field.

    invitation: a calendar object, which goes as RFC 6047 has it, and as a file for programs that look for one.
    """
    if sentence := check_mail_address(to):
        raise Mistakes({"to": sentence})
    for name, value in (("subject", text.subject), ("from_name", from_name), ("to", to)):
        if sentence := check_header(value):
            raise Mistakes({name: sentence})
    message = EmailMessage(policy=SMTP)
    message["From"] = Address(from_name, addr_spec=from_address)
    message["To"] = Address(addr_spec=to)
    message["Subject"] = text.subject
    message["Date"] = format_datetime(desk.now)
    message["Message-ID"] = message_id
    message.set_content(text.body + "\n", charset="utf-8")
    if invitation:
        _invite(message, invitation)
    for each in attached:
        message.add_attachment(each.content, maintype="application", subtype="pdf", filename=each.file_name)
    return message


def _invite(message: EmailMessage, invitation: str) -> None:
    method = next(line for line in invitation.splitlines() if line.startswith("METHOD:")).removeprefix("METHOD:")
    content = invitation.encode()
    message.add_alternative(content, maintype="text", subtype="calendar", cte="base64",
                            params={"method": method, "charset": "utf-8"})  # fmt: skip
    message.add_attachment(content, maintype="application", subtype="ics", filename="visit.ics")


def deliver(details: MailServerDetails, password: str, message: EmailMessage) -> None:
    """Hand a message to the server. Raises NotSent, which says whether the server may have taken it all the same."""
    signing_in = handing_over = False
    try:
        server = _connected(details)
        try:
            server.ehlo_or_helo_if_needed()
            if details.user:
                signing_in = True
                server.login(details.user, password)
                signing_in = False
            _obey(*server.mail(details.from_address))
            _obey(*server.rcpt(message["To"].addresses[0].addr_spec))
            handing_over = True
            code, answer = server.data(message.as_bytes())
            handing_over = False
            _obey(code, answer)
        finally:
            with suppress(OSError, smtplib.SMTPException):  # whatever comes after the answer changes nothing
                server.quit()
            server.close()
    except _Refusal as refusal:
        raise NotSent(f"The server answered: {refusal.code} {refusal.said}", final=refusal.code >= 500) from refusal
    except smtplib.SMTPDataError as refused:
        raise NotSent(f"The server answered: {refused.smtp_code} {_said(refused.smtp_error)}",
                      final=refused.smtp_code >= 500) from refused  # fmt: skip
    except smtplib.SMTPAuthenticationError as refused:
        raise NotSent(f"The server does not take the user name and password: {_said(refused.smtp_error)}") from refused
    except smtplib.SMTPServerDisconnected as gone:
        where = " over the user name and password" if signing_in else ""
        raise NotSent(f"The server broke the connection off{where}.", doubted=handing_over) from gone
    except smtplib.SMTPNotSupportedError as problem:
        raise NotSent(f"The server does not offer what is set: {problem}") from problem
    except ssl.SSLError as problem:
        raise NotSent(f"No secure connection: {problem.reason or problem}", doubted=handing_over) from problem
    except smtplib.SMTPResponseException as refused:
        raise NotSent(f"The server answered: {refused.smtp_code} {_said(refused.smtp_error)}") from refused
    except (OSError, smtplib.SMTPException) as problem:
        raise NotSent(f"The server cannot be reached: {problem}", doubted=handing_over) from problem


class _Refusal(Exception):
    def __init__(self, code: int, said: str) -> None:
        super().__init__(said)
        self.code, self.said = code, said


def _obey(code: int, said: bytes) -> None:
    if not 200 <= code < 300:
        raise _Refusal(code, _said(said))


def _said(answer: bytes | str) -> str:
    text = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else answer
    return " ".join(text.split())[:300]


def _connected(details: MailServerDetails) -> smtplib.SMTP:
    """A connection that is encrypted as set, with the server's certificate and name checked."""
    if details.security == Security.TLS:
        return smtplib.SMTP_SSL(details.host, details.port, timeout=SECONDS, context=ssl.create_default_context())
    server = smtplib.SMTP(details.host, details.port, timeout=SECONDS)
    if details.security == Security.STARTTLS:
        try:
            server.starttls(context=ssl.create_default_context())
        except BaseException:
            server.close()
            raise
    return server


def open_password(desk: Desk) -> str:
    """The server's password; nothing where there is none."""
    if desk.mail_password:
        return desk.mail_password
    with suppress(FileNotFoundError):
        return (desk.keys_folder / PASSWORD_FILE).read_text("utf-8")
    return ""


def _keep_password(keys_folder: Path, password: str) -> None:
    """Write the file whole and for its owner only."""
    keys_folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    part = keys_folder / f".{token_hex(8)}.part"
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
        file.write(password)
        file.flush()
        os.fsync(file.fileno())
    part.replace(keys_folder / PASSWORD_FILE)
