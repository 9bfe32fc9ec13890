"""What the page of one instrument shows: its state, calibrations, reference checks, and the records in doubt."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from app.rules.instruments import CalibrationResult
from app.rules.reference_checks import describe_reference_band
from app.store.doubts import list_all_doubts
from app.store.instruments import InstrumentRow
from app.store.journal import list_journal
from app.store.reference_checks import (
    ReferenceCheckRow,
    ReferenceItemRow,
    facts_of_standing,
    list_newest_checks,
    list_reference_items,
)
from app.web.instrument_states import show_state


@dataclass(frozen=True)
class ReferenceLine:
    """A reference item with its band, its newest check, and the last day for which that counts. A failed check counts
    for no day: the next one is due now.
    """

    item: ReferenceItemRow
    band: str
    newest: ReferenceCheckRow | None
    due_on: date | None
    overdue: bool


def show_instrument_whole(session: Session, row: InstrumentRow, today: date) -> dict[str, Any]:
    """What the page of an instrument needs."""
    return {
        "instrument": row,
        "state_now": show_state(row, facts_of_standing(session, row), today),
        "references": list_reference_lines(session, row, today),
        "doubts": list_all_doubts(session, [row.id]),
        "results": [(each.value, each.word) for each in CalibrationResult],
        "journal": list_journal(session, "instrument", row.id, limit=10),
    }


def list_reference_lines(session: Session, row: InstrumentRow, today: date) -> list[ReferenceLine]:
    """The reference items of an instrument with how each stands."""
    newest = list_newest_checks(session, row.id)
    lines = []
    for item in list_reference_items(session, row.id):
        check = newest.get(item.id)
        due_on = check.counts_until if check and check.passed else None
        overdue = item.active and row.active and (due_on is None or due_on < today)
        lines.append(ReferenceLine(item, describe_reference_band(item.details), check, due_on, overdue))
    return lines
