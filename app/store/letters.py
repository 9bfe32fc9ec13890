"""Which letters somebody should write now: bookings not confirmed, visits coming up, tests that fall due."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from sqlalchemy import ColumnElement, ScalarSelect, func, select
from sqlalchemy.orm import Session, joinedload

from app.rules.items import ItemState
from app.rules.mail_texts import MailKind
from app.rules.mails import MailState
from app.rules.planning_settings import PlanningSettings
from app.rules.visits import VisitState
from app.store.due_work import DuePlace, list_due_places
from app.store.items import ItemRow
from app.store.mails import MailRow
from app.store.premises import PremisesRow
from app.store.visits import LIVE, VisitRow

_NOT_GONE = (MailState.FAILED.value, MailState.STOPPED.value)
#: A recall letter that went within so many days is not asked for again (ours).
RECALL_AGAIN_DAYS = 28
#: Visits so far ahead are asked for a confirmation (ours).
CONFIRM_AHEAD_DAYS = 366


@dataclass(frozen=True)
class RecallDue:
    """Premises to which a recall letter should go. first_due_on: when the first of items falls due; written_on: the
    day of the last such letter.
    """

    place: DuePlace
    items: int
    first_due_on: date
    written_on: date | None


def list_visits_without(session: Session, kind: MailKind, first: date, last: date) -> list[VisitRow]:
    """The booked visits of a span of days about which no message of a kind has gone, the soonest first."""
    query = (
        select(VisitRow)
        .where(*_without(kind, first, last))
        .options(joinedload(VisitRow.premises).joinedload(PremisesRow.customer), joinedload(VisitRow.technician))
        .order_by(VisitRow.booked_on, VisitRow.booked_time, VisitRow.id)
    )
    return list(session.scalars(query))


def count_visits_without(kind: MailKind, first: date, last: date) -> ScalarSelect[int]:
    """How many list_visits_without has, for a question of its own or a part of one."""
    return select(func.count(VisitRow.id)).where(*_without(kind, first, last)).scalar_subquery()


def _without(kind: MailKind, first: date, last: date) -> tuple[ColumnElement[bool], ...]:
    gone = select(MailRow.visit_id).where(
        MailRow.kind == kind.value, MailRow.state.not_in(_NOT_GONE), MailRow.visit_id.is_not(None)
    )
    return (
        VisitRow.state == VisitState.BOOKED.value,
        VisitRow.booked_on.between(first, last),
        VisitRow.id.not_in(gone),
    )


def list_recalls_due(session: Session, settings: PlanningSettings, today: date) -> list[RecallDue]:
    """Premises without a visit at which something falls due within the days that the firm sets, the earliest first."""
    places = list_due_places(session, today + timedelta(days=settings.recall_days))
    written = list_last_recalls(session)
    found = [
        RecallDue(
            place,
            sum(group.count for group in place.groups),
            min(group.due_on for group in place.groups),
            written.get(place.premises_id),
        )
        for place in places
        if place.booked_on is None
    ]
    again = today - timedelta(days=RECALL_AGAIN_DAYS)
    found = [each for each in found if each.written_on is None or each.written_on < again]
    return sorted(found, key=lambda each: each.first_due_on)


def count_recalls_due(settings: PlanningSettings, today: date) -> ScalarSelect[int]:
    """How many list_recalls_due has, for a question of its own or a part of one; no item is read for it."""
    until = today + timedelta(days=settings.recall_days)
    again = datetime.combine(today - timedelta(days=RECALL_AGAIN_DAYS), time(0), UTC)
    due = select(ItemRow.id).where(
        ItemRow.premises_id == PremisesRow.id, ItemRow.state == ItemState.IN_USE.value, ItemRow.next_due_on <= until
    )
    visits = select(VisitRow.id).where(VisitRow.premises_id == PremisesRow.id, VisitRow.state.in_(LIVE))
    lately = select(MailRow.id).where(
        MailRow.premises_id == PremisesRow.id,
        MailRow.kind == MailKind.RECALL.value,
        MailRow.state.not_in(_NOT_GONE),
        MailRow.made_at >= again,
    )
    waiting = (due.exists(), ~visits.exists(), ~lately.exists())
    return select(func.count(PremisesRow.id)).where(*waiting).scalar_subquery()


def list_last_recalls(session: Session) -> dict[int, date]:
    """The day (UTC) of the last recall letter to each premises."""
    query = (
        select(MailRow.premises_id, func.max(MailRow.made_at))
        .where(MailRow.kind == MailKind.RECALL.value, MailRow.state.not_in(_NOT_GONE))
        .group_by(MailRow.premises_id)
    )
    return {premises_id: at.date() for premises_id, at in session.execute(query) if premises_id is not None}
