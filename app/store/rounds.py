"""Sets of readings of one item at one visit: the newest, and those found before it was put right on the spot."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session, joinedload, selectinload
from sqlalchemy.orm.attributes import flag_modified

from app.rules.verdicts import Verdict
from app.store.items import DefectRow, ItemRow
from app.store.readings import ReadingRow, RoundRow, VisitItemRow

#: Positions of an earlier set lie so far below those of the newest, set by set, so that none meet.
STEP = 1000


def find_what_was_found(session: Session, rows: Sequence[VisitItemRow]) -> None:
    """Fetch the readings and defects of several items of a visit at once, with those of before each was put right on
    the spot, and who tested: a few questions for all of them, where otherwise each would ask its own.
    """
    parts = (
        selectinload(VisitItemRow.readings),
        selectinload(VisitItemRow.defects),
        selectinload(VisitItemRow.rounds).selectinload(RoundRow.readings),
        selectinload(VisitItemRow.rounds).selectinload(RoundRow.defects),
        joinedload(VisitItemRow.tested_by),
    )
    _find(session, rows, *parts)


def find_defects_and_rounds(session: Session, rows: Sequence[VisitItemRow]) -> None:
    """The same without any readings, for pages that only name what is wrong."""
    rounds = selectinload(VisitItemRow.rounds)
    _find(session, rows, selectinload(VisitItemRow.defects), rounds.selectinload(RoundRow.defects))


def _find(session: Session, rows: Sequence[VisitItemRow], *parts: Any) -> None:
    query = select(VisitItemRow).where(VisitItemRow.id.in_([row.id for row in rows])).options(*parts)
    session.scalars(query).all()


def list_rounds_of(session: Session, visit_ids: Sequence[int]) -> list[tuple[RoundRow, str]]:
    """What was put right on the spot at some visits, each with its item's number, in the order of the numbers."""
    query = (
        select(RoundRow, ItemRow.number)
        .join(VisitItemRow, RoundRow.visit_item_id == VisitItemRow.id)
        .join(ItemRow, VisitItemRow.item_id == ItemRow.id)
        .where(VisitItemRow.visit_id.in_(visit_ids))
        .order_by(ItemRow.number, RoundRow.position)
    )
    return [(row, number) for row, number in session.execute(query)]


def find_later_test(session: Session, item_id: int, visit_item_id: int, tested_on: date) -> VisitItemRow | None:
    """A record of an item at another visit on a later day, or nothing."""
    return session.scalar(
        select(VisitItemRow)
        .where(
            VisitItemRow.item_id == item_id,
            VisitItemRow.id != visit_item_id,
            VisitItemRow.tested_on > tested_on,
            VisitItemRow.verdict.is_not(None),
        )
        .limit(1)
    )


def find_earlier_test(session: Session, item_id: int, visit_item_id: int) -> VisitItemRow | None:
    """The newest test of an item at another visit that came to a verdict, or nothing."""
    return session.scalar(
        select(VisitItemRow)
        .where(
            VisitItemRow.item_id == item_id,
            VisitItemRow.id != visit_item_id,
            VisitItemRow.verdict.in_((Verdict.PASS.value, Verdict.FAIL.value)),
            VisitItemRow.not_tested == "",
        )
        .order_by(VisitItemRow.tested_on.desc(), VisitItemRow.id.desc())
        .limit(1)
    )


def change_as_saved(row: VisitItemRow) -> None:
    """Count a saving that changed readings alone as a change of the item's row, so that its version moves."""
    flag_modified(row, "verdict")


def change_to_earlier(session: Session, row: VisitItemRow, earlier: RoundRow) -> None:
    """Give the newest readings and defects of an item to an earlier set."""
    newest = (ReadingRow.visit_item_id == row.id, ReadingRow.round_id.is_(None))
    moved = {"round_id": earlier.id, "position": ReadingRow.position - STEP * earlier.position}
    session.execute(update(ReadingRow).where(*newest).values(moved).execution_options(synchronize_session=False))
    found = (DefectRow.visit_item_id == row.id, DefectRow.round_id.is_(None))
    session.execute(
        update(DefectRow).where(*found).values(round_id=earlier.id).execution_options(synchronize_session=False)
    )
    session.expire(row, ["readings", "defects", "rounds"])
    session.expire(earlier, ["readings", "defects"])


def change_to_newest(session: Session, row: VisitItemRow, earlier: RoundRow) -> None:
    """Give the readings and defects of an earlier set back to the newest, and remove that set."""
    moved = {"round_id": None, "position": ReadingRow.position + STEP * earlier.position}
    for query in (
        update(ReadingRow).where(ReadingRow.round_id == earlier.id).values(moved),
        update(DefectRow).where(DefectRow.round_id == earlier.id).values(round_id=None),
        delete(RoundRow).where(RoundRow.id == earlier.id),
    ):
        session.execute(query.execution_options(synchronize_session=False))
    session.expunge(earlier)
    session.expire(row, ["readings", "defects", "rounds"])
