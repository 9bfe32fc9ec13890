"""Open defects across items: which there are, who must act by when, and what happened to each since it was found."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ForeignKey, delete, func, select, update
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.items import ItemState
from app.rules.share_links import LinkScope
from app.rules.visits import VisitState
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.items import DefectRow, ItemRow
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow


class DefectStepRow(Base):
    """Something that happened to a defect after it was found. by_name: a person of the firm, or the customer."""

    __tablename__ = "defect_steps"

    id: Mapped[int] = mapped_column(primary_key=True)
    defect_id: Mapped[int] = mapped_column(ForeignKey("defects.id"), index=True)
    at: Mapped[datetime]
    by_name: Mapped[str]
    sentence: Mapped[str]
    defect: Mapped[DefectRow] = relationship()


@dataclass(frozen=True)
class OpenDefect:
    """A defect that is still open, with its item and where that is. retest_on: the day of the next visit there."""

    defect: DefectRow
    item: ItemRow
    premises: str
    customer: str
    customer_id: int
    retest_on: date | None
    duty_name: str


def get_defect(session: Session, defect_id: int, locked: bool = False) -> DefectRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(DefectRow, defect_id, with_for_update=locked or None)
    if row is None:
        raise Missing("defect")
    return row


def list_open_defects_of_all(
    session: Session,
    customer_id: int | None = None,
    item_state: str = "",
    limit: int = 2000,
    *,
    scope: LinkScope | None = None,
    past: date | None = None,
) -> list[OpenDefect]:
    """Open defects of items that are still at the premises, the oldest first, in one question.

    scope: those that a share link may show; past: those whose day to act by lies before this one.
    """
    coming = (
        select(VisitRow.premises_id, func.min(VisitRow.booked_on).label("day"))
        .where(VisitRow.state.in_((VisitState.BOOKED.value, VisitState.UNDER_WAY.value)))
        .group_by(VisitRow.premises_id)
        .subquery()
    )
    query = (
        select(
            DefectRow, ItemRow, PremisesRow.name, CustomerRow.name, CustomerRow.id, coming.c.day,
            func.coalesce(PersonRow.name, ""),
        )
        .join(ItemRow, DefectRow.item_id == ItemRow.id)
        .join(PremisesRow, ItemRow.premises_id == PremisesRow.id)
        .join(CustomerRow, PremisesRow.customer_id == CustomerRow.id)
        .outerjoin(coming, coming.c.premises_id == PremisesRow.id)
        .outerjoin(PersonRow, PersonRow.id == DefectRow.duty_person_id)
        .where(DefectRow.closed_on.is_(None), ItemRow.state != ItemState.WITHDRAWN.value)
        .order_by(DefectRow.found_at, DefectRow.id)
        .options(joinedload(ItemRow.location))
        .limit(limit)
    )  # fmt: skip
    if scope is not None:
        query = query.where(PremisesRow.customer_id == scope.customer_id)
        if scope.premises_id is not None:
            query = query.where(ItemRow.premises_id == scope.premises_id)
        if scope.visit_id is not None:
            query = query.where(
                ItemRow.id.in_(select(VisitItemRow.item_id).where(VisitItemRow.visit_id == scope.visit_id))
            )
    if customer_id is not None:
        query = query.where(PremisesRow.customer_id == customer_id)
    if item_state:
        query = query.where(ItemRow.state == item_state)
    if past is not None:
        query = query.where(DefectRow.act_by < past)
    return [OpenDefect(*row) for row in session.execute(query)]


def find_open_defect(session: Session, defect_id: int) -> OpenDefect | None:
    """One defect as the list gives it; nothing where it is closed, or its item withdrawn."""
    row = session.get(DefectRow, defect_id)
    if row is None or row.closed_on is not None:
        return None
    found = list_open_defects_of_all(session, scope=LinkScope(row.item.customer_id))
    return next((each for each in found if each.defect.id == defect_id), None)


def list_defect_steps(session: Session, defect_id: int) -> list[DefectStepRow]:
    """What happened to a defect, the oldest first."""
    query = select(DefectStepRow).where(DefectStepRow.defect_id == defect_id)
    return list(session.scalars(query.order_by(DefectStepRow.at, DefectStepRow.id)))


def add_defect_step(session: Session, step: DefectStepRow) -> None:
    session.add(step)


def remove_defects_not_found_again(session: Session, visit_item_id: int, found: Collection[str]) -> list[DefectRow]:
    """Take back what an earlier saving of the same visit found, but for what is found again; give that.

    What was put right on the spot stays as found.
    """
    query = select(DefectRow).where(DefectRow.visit_item_id == visit_item_id, DefectRow.round_id.is_(None))
    rows = list(session.scalars(query))
    kept: dict[str, DefectRow] = {}
    for row in rows:
        if row.found in found:
            kept.setdefault(row.found, row)
    gone = [row.id for row in rows if row not in kept.values()]
    if gone:
        session.execute(delete(DefectStepRow).where(DefectStepRow.defect_id.in_(gone)))
        session.execute(delete(DefectRow).where(DefectRow.id.in_(gone)))
    return list(kept.values())


def change_defects_to_said_done(session: Session, defect_ids: Sequence[int], at: datetime) -> None:
    """Keep that somebody at the customer says these defects are put right; they stay open."""
    session.execute(update(DefectRow).where(DefectRow.id.in_(defect_ids)).values(said_done_at=at))
