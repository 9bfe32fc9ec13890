"""The steps between items at past visits, from which the firm's own pace is worked out, and what premises hold."""

from collections.abc import Collection
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.rules.equipment import Kind
from app.rules.paces import Estimate, Paces, list_paces, total_estimate
from app.rules.visits import VisitState
from app.store.items import ItemRow, list_served
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow

VISITS_MOST = 100


def list_steps(session: Session, visits: int = VISITS_MOST) -> list[tuple[Kind, int]]:
    """For each item tested at the newest finished visits but the first of each person: its kind, and the seconds since
    the item before it.
    """
    newest = (
        select(VisitRow.id)
        .where(VisitRow.state == VisitState.FINISHED.value)
        .order_by(VisitRow.finished_at.desc(), VisitRow.id.desc())
        .limit(visits)
    )
    before = func.lag(VisitItemRow.tested_at, type_=VisitItemRow.tested_at.type).over(
        partition_by=(VisitItemRow.visit_id, VisitItemRow.tested_by_id),
        order_by=(VisitItemRow.tested_at, VisitItemRow.id),
    )
    steps = select(VisitItemRow.kind, VisitItemRow.tested_at, before.label("before")).where(
        VisitItemRow.visit_id.in_(newest), VisitItemRow.verdict.in_(("pass", "fail"))
    )
    found = []
    for kind, at, earlier in session.execute(steps):
        if at is not None and earlier is not None:
            found.append((Kind(kind), int((at - earlier).total_seconds())))
    return found


def facts_of_paces(session: Session) -> Paces:
    """The firm's pace by kind."""
    return list_paces(list_steps(session))


def count_kinds(
    session: Session, premises_ids: Collection[int], due_until: date | None = None
) -> dict[int, dict[Kind, int]]:
    """How many items of each kind a visit to each of some premises serves: everything on the register, or with a day
    what falls due up to it and what waits for a test.
    """
    found: dict[int, dict[Kind, int]] = {premises_id: {} for premises_id in premises_ids}
    query = (
        select(ItemRow.premises_id, ItemRow.kind, func.count())
        .where(ItemRow.premises_id.in_(list(premises_ids)), *list_served(due_until))
        .group_by(ItemRow.premises_id, ItemRow.kind)
    )
    for premises_id, kind, count in session.execute(query):
        found[premises_id][Kind(kind)] = count
    return found


def facts_of_estimate(session: Session, premises_id: int, due_until: date | None = None) -> Estimate:
    """How long a visit to premises takes: to everything there, or to what falls due up to a day and what waits."""
    return total_estimate(count_kinds(session, [premises_id], due_until)[premises_id], facts_of_paces(session))
