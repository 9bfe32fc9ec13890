"""Reminder letters: the firm's own texts, and which letters were sent about what."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, false, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.rules.reminders import FIRST_TEXTS, ReminderText, Tone
from app.store.database import Base


class ReminderTextRow(Base):
    __tablename__ = "reminder_texts"

    tone: Mapped[str] = mapped_column(primary_key=True)
    subject: Mapped[str]
    body: Mapped[str]


class ReminderRow(Base):
    """A letter as somebody says it was sent, or as an e-mail took it. waits: that e-mail has not left yet."""

    __tablename__ = "reminders"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    tone: Mapped[str]
    sent_on: Mapped[date]
    subject: Mapped[str]
    body: Mapped[str]
    invoice_numbers: Mapped[list[str]]
    recorded_at: Mapped[datetime]
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    waits: Mapped[bool] = mapped_column(default=False, server_default=false())


def get_reminder_text(session: Session, tone: Tone) -> ReminderText:
    """The firm's own text, else the first one."""
    row = find_reminder_text(session, tone)
    return ReminderText(row.subject, row.body) if row is not None else FIRST_TEXTS[tone]


def find_reminder_text(session: Session, tone: Tone) -> ReminderTextRow | None:
    return session.get(ReminderTextRow, tone.value)


def list_reminders(session: Session, customer_id: int) -> list[ReminderRow]:
    """Letters that went to a customer, newest first."""
    query = select(ReminderRow).where(ReminderRow.customer_id == customer_id, ~ReminderRow.waits)
    return list(session.scalars(query.order_by(ReminderRow.sent_on.desc(), ReminderRow.id.desc())))


def find_reminder(session: Session, reminder_id: int) -> ReminderRow | None:
    return session.get(ReminderRow, reminder_id)
