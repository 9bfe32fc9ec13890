"""How much of each kind waits in the office, counted by the database in one question without reading any row."""

from datetime import date, datetime, timedelta

from sqlalchemy import ColumnElement, ScalarSelect, func, select
from sqlalchemy.orm import Session

from app.rules.mail_texts import MailKind
from app.rules.mails import MailState
from app.rules.office_tasks import OfficeTask
from app.rules.planning_settings import PlanningSettings
from app.rules.recalls import HitState
from app.rules.repeats import WantedState
from app.store.bank_lines import BankLineRow
from app.store.database import Base
from app.store.letters import CONFIRM_AHEAD_DAYS, count_recalls_due, count_visits_without
from app.store.mails import MailRow
from app.store.recalls import RecallHitRow
from app.store.wanted_visits import WantedVisitRow

#: For how long an e-mail that may have gone twice is told of (days; ours). There is nothing to be done about it.
TWICE_DAYS = 7


def count_office_tasks(
    session: Session, settings: PlanningSettings, today: date, now: datetime
) -> dict[OfficeTask, int]:
    """Count what waits, by kind."""
    ahead, soon = today + timedelta(days=CONFIRM_AHEAD_DAYS), today + timedelta(days=settings.remind_days)
    asked = {
        OfficeTask.RECALLED: _count(RecallHitRow, RecallHitRow.state == HitState.PROPOSED.value),
        OfficeTask.RECALL_UNTOLD: _count(
            RecallHitRow, RecallHitRow.state == HitState.CONFIRMED.value, RecallHitRow.recall_letter_id.is_(None)
        ),
        OfficeTask.MAIL_FAILED: _count(MailRow, MailRow.state == MailState.FAILED.value),
        OfficeTask.COMING: count_visits_without(MailKind.COMING, today, soon),
        OfficeTask.UNCONFIRMED: count_visits_without(MailKind.BOOKING, today, ahead),
        OfficeTask.WANTED: _count(
            WantedVisitRow, WantedVisitRow.state == WantedState.WAITING.value, WantedVisitRow.wanted_on < today
        ),
        OfficeTask.FALLS_DUE: count_recalls_due(settings, today),
        OfficeTask.BANK_LINE: _count(BankLineRow, BankLineRow.state == "open"),
        OfficeTask.MAIL_TWICE: _count(
            MailRow,
            MailRow.state == MailState.SENT.value,
            MailRow.doubted.is_(True),
            MailRow.sent_at >= now - timedelta(days=TWICE_DAYS),
        ),
    }
    row = session.execute(select(*asked.values())).one()
    return dict(zip(asked, row, strict=True))


def _count(table: type[Base], *conditions: ColumnElement[bool]) -> ScalarSelect[int]:
    return select(func.count()).select_from(table).where(*conditions).scalar_subquery()
