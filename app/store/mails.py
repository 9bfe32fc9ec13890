"""E-mail: the firm's server, its texts, and the outbox, where every message stays with what became of it."""

from datetime import datetime

from sqlalchemy import ForeignKey, or_, select, text, true
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.mail_texts import FIRST_TEXTS, MailKind, MailText
from app.rules.mails import MailServerDetails, MailState, Security
from app.rules.share_links import FolderKind, LinkScope
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.people import PersonRow

#: In place of a kind of paper: a letter about recalled products, which has no number.
RECALL_LETTER = "letter about recalled products"


class MailServerRow(Base):
    """There is one, or none. Its password is not here: it is in the environment or in a file of its own."""

    __tablename__ = "mail_servers"

    id: Mapped[int] = mapped_column(primary_key=True)
    host: Mapped[str]
    port: Mapped[int]
    security: Mapped[str]
    user: Mapped[str]
    from_address: Mapped[str]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> MailServerDetails:
        return MailServerDetails(self.host, self.port, Security(self.security), self.user, self.from_address)


class MailTextRow(Base):
    __tablename__ = "mail_texts"

    kind: Mapped[str] = mapped_column(primary_key=True)
    subject: Mapped[str]
    body: Mapped[str]


class MailRow(Base):
    """A message of the outbox. In its body {link} stands until it leaves, since no token is ever kept.

    visit_id, premises_id, paper_kind and paper_id, as on a share link: what it is about and what its link opens; with
    none of them the customer's whole folder. reminder_id: the reminder that it is. invitation: a calendar object (RFC
    5546) that goes with it, as it was when the message was written. doubted: an earlier attempt broke off where nobody
    can tell whether the server had taken the message.
    """

    __tablename__ = "mails"

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visits.id"), index=True)
    premises_id: Mapped[int | None] = mapped_column(ForeignKey("premises.id"), index=True)
    paper_kind: Mapped[str] = mapped_column(default="", server_default=text("''"))
    paper_id: Mapped[int | None]
    with_money: Mapped[bool] = mapped_column(default=True, server_default=true())
    reminder_id: Mapped[int | None] = mapped_column(ForeignKey("reminders.id"))
    share_link_id: Mapped[int | None] = mapped_column(ForeignKey("share_links.id"))
    link_days: Mapped[int]
    to_address: Mapped[str]
    subject: Mapped[str]
    body: Mapped[str]
    message_id: Mapped[str]
    state: Mapped[str] = mapped_column(index=True)
    attempts: Mapped[int] = mapped_column(default=0)
    next_at: Mapped[datetime]
    doubted: Mapped[bool] = mapped_column(default=False)
    problem: Mapped[str] = mapped_column(default="")
    invitation: Mapped[str] = mapped_column(default="", server_default=text("''"))
    made_at: Mapped[datetime]
    made_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    tried_at: Mapped[datetime | None]
    sent_at: Mapped[datetime | None]
    customer: Mapped[CustomerRow] = relationship()
    attachments: Mapped[list["MailAttachmentRow"]] = relationship(order_by="MailAttachmentRow.id")
    made_by: Mapped[PersonRow] = relationship()

    @property
    def word(self) -> str:
        """The state as people read it."""
        if self.state == MailState.SENT and self.doubted:
            return "may have been sent twice"
        return MailState(self.state).word

    @property
    def scope(self) -> LinkScope:
        """What the link in it opens."""
        paper = (FolderKind(self.paper_kind), self.paper_id) if self.paper_id is not None else None
        premises_id = self.premises_id if self.visit_id is None else None
        return LinkScope(self.customer_id, premises_id, self.visit_id, paper, self.with_money)


class MailAttachmentRow(Base):
    """A PDF that goes with a message. paper_kind: a word of FolderKind, or RECALL_LETTER, and paper_id its id; or, for
    what is no kept paper, what people call it, with the bytes as they were when the message was written.

    sha256: of an issued paper as it was issued; of a letter about recalls, which is drawn as it leaves, once it is out.
    """

    __tablename__ = "mail_attachments"

    id: Mapped[int] = mapped_column(primary_key=True)
    mail_id: Mapped[int] = mapped_column(ForeignKey("mails.id"), index=True)
    paper_kind: Mapped[str]
    paper_id: Mapped[int | None]
    number: Mapped[str] = mapped_column(default="")
    file_name: Mapped[str]
    sha256: Mapped[str] = mapped_column(default="")
    content: Mapped[bytes | None] = mapped_column(deferred=True)

    @property
    def title(self) -> str:
        return f"{self.paper_kind.capitalize()} {self.number}".strip()


def find_mail_server(session: Session) -> MailServerRow | None:
    return session.get(MailServerRow, 1)


def find_mail_text(session: Session, kind: MailKind) -> MailTextRow | None:
    return session.get(MailTextRow, kind.value)


def get_mail_text(session: Session, kind: MailKind) -> MailText:
    """The firm's own text, else the first one. Reminders have theirs elsewhere."""
    row = find_mail_text(session, kind)
    return MailText(row.subject, row.body) if row is not None else FIRST_TEXTS[kind]


def get_mail(session: Session, mail_id: int, locked: bool = False) -> MailRow:
    """Raises Missing. locked: nobody else takes the row until the transaction ends."""
    row = session.get(MailRow, mail_id, with_for_update=locked or None)
    if row is None:
        raise Missing("message")
    return row


def list_mails(
    session: Session, state: str = "", search: str = "", customer_id: int | None = None, limit: int = 200
) -> list[MailRow]:
    """Messages, newest first. state is a word of MailState."""
    query = select(MailRow).join(MailRow.customer).options(joinedload(MailRow.customer), joinedload(MailRow.made_by))
    if state:
        query = query.where(MailRow.state == state)
    if customer_id is not None:
        query = query.where(MailRow.customer_id == customer_id)
    for word in search.split():
        columns = (MailRow.subject, MailRow.to_address, CustomerRow.name)
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    return list(session.scalars(query.order_by(MailRow.id.desc()).limit(limit)))


def list_mails_with(session: Session, paper_kind: str, paper_id: int) -> list[MailRow]:
    """The messages with which a paper goes, newest first."""
    query = select(MailRow).join(MailRow.attachments).order_by(MailRow.id.desc())
    query = query.where(MailAttachmentRow.paper_kind == paper_kind, MailAttachmentRow.paper_id == paper_id)
    return list(session.scalars(query))


def get_mail_attachment(session: Session, mail_id: int, attachment_id: int) -> MailAttachmentRow:
    """What was kept with a message. Raises Missing, also for a paper, which has a page of its own."""
    row = session.get(MailAttachmentRow, attachment_id)
    if row is None or row.mail_id != mail_id or row.content is None:
        raise Missing("attachment")
    return row


def list_mails_to_send(session: Session, now: datetime) -> list[int]:
    """The ids of the messages whose time has come, the longest waiting first."""
    query = select(MailRow.id).where(MailRow.state == MailState.WAITING.value, MailRow.next_at <= now)
    return list(session.scalars(query.order_by(MailRow.next_at, MailRow.id).limit(50)))


def list_mails_broken_off(session: Session) -> list[MailRow]:
    """Messages that were being sent when the program ended."""
    return list(session.scalars(select(MailRow).where(MailRow.state == MailState.SENDING.value).with_for_update()))
