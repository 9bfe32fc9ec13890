"""What the page of one instrument shows: its state, calibrations, reference checks, and the records in doubt."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from app.rules.instrument_standings import Doubt, list_doubts
from app.rules.reference_checks import describe_reference_band
from app.store.instruments import InstrumentRow
from app.store.journal import list_journal
from app.store.readings import DoubtfulVisit, list_doubtful_visits
from app.store.reference_checks import (
    ReferenceCheckRow,
    ReferenceItemRow,
    facts_of_standing,
    list_newest_checks,
    list_proofs,
    list_reference_items,
)
from app.web.instrument_states import show_state


@dataclass(frozen=True)
class ReferenceLine:
    """A reference item with its band, its newest check, and the last day for which that counts."""

    item: ReferenceItemRow
    band: str
    newest: ReferenceCheckRow | None
    due_on: date | None
    overdue: bool


@dataclass(frozen=True)
class DoubtShown:
    """A span in doubt, with the visits whose records are."""

    doubt: Doubt
    visits: list[DoubtfulVisit]


def show_instrument_whole(session: Session, row: InstrumentRow, today: date) -> dict[str, Any]:
    """What the page of an instrument needs."""
    return {
        "instrument": row,
        "state_now": show_state(row, facts_of_standing(session, row), today),
        "references": list_reference_lines(session, row, today),
        "doubts": [
            DoubtShown(doubt, list_doubtful_visits(session, row.id, doubt.since, doubt.until))
            for doubt in list_doubts(list_proofs(session, row))
        ],
        "journal": list_journal(session, "instrument", row.id, limit=10),
    }


def list_reference_lines(session: Session, row: InstrumentRow, today: date) -> list[ReferenceLine]:
    """The reference items of an instrument with how each stands."""
    newest = list_newest_checks(session, row.id)
    lines = []
    for item in list_reference_items(session, row.id):
        check = newest.get(item.id)
        due_on = check.counts_until if check else None
        overdue = item.active and row.active and (due_on is None or due_on < today)
        lines.append(ReferenceLine(item, describe_reference_band(item.details), check, due_on, overdue))
    return lines
