"""What was measured on items over the years, as facts for trends: one question for an item or a whole visit."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from app.rules.checks import Check
from app.rules.quantities import Bound, Unit, convert_number
from app.rules.reading_histories import PastReading, ReadingHistory
from app.rules.trends import FEWEST
from app.rules.verdicts import Outcome
from app.store.readings import ReadingRow, VisitItemRow
from app.store.visits import VisitRow

_FAILED = (Outcome.FAIL.value, Outcome.CONDITIONAL_FAIL.value)


def list_reading_histories(session: Session, item_ids: Iterable[int]) -> list[ReadingHistory]:
    """Every kind of measured reading of some items, in the order in which each was first taken."""
    return _histories(session.execute(_query().where(VisitItemRow.item_id.in_(list(item_ids)))))


def list_visit_histories(session: Session, visit_id: int, until: date | None = None) -> list[ReadingHistory]:
    """The histories of all items of a visit that are long enough for a trend, in one question.

    until leaves out what was tested later, for a paper about a visit of the past.
    """
    on_visit = select(VisitItemRow.item_id).where(VisitItemRow.visit_id == visit_id)
    query = _query().where(VisitItemRow.item_id.in_(on_visit), ReadingRow.limit_unit != "")
    if until is not None:
        query = query.where(VisitItemRow.tested_on <= until)
    return _histories(session.execute(query), FEWEST)


def _query() -> Select[*tuple[Any, ...]]:
    """Columns rather than rows: a visit of 400 items has thousands of readings behind it."""
    return (
        select(
            VisitItemRow.item_id, VisitItemRow.tested_on, VisitItemRow.after_repair,
            ReadingRow.check, ReadingRow.point, ReadingRow.multiple, ReadingRow.phase_deg, ReadingRow.value,
            ReadingRow.unit, ReadingRow.bound, ReadingRow.lead_ohms, ReadingRow.outcome, ReadingRow.at_most,
            ReadingRow.at_least, ReadingRow.limit_unit,
        )
        .join(VisitItemRow, ReadingRow.visit_item_id == VisitItemRow.id)
        .join(VisitRow, VisitItemRow.visit_id == VisitRow.id)
        .where(ReadingRow.value.is_not(None), VisitItemRow.tested_on.is_not(None))
        .order_by(VisitItemRow.tested_on, VisitItemRow.id, ReadingRow.position)
    )  # fmt: skip


def _histories(rows: Iterable[Any], fewest: int = 1) -> list[ReadingHistory]:
    groups: dict[tuple[Any, ...], list[Any]] = {}
    for row in rows:
        groups.setdefault((row.item_id, row.check, row.point, row.multiple, row.phase_deg), []).append(row)
    return [_history(group) for group in groups.values() if len(group) >= fewest]


def _history(rows: list[Any]) -> ReadingHistory:
    newest = rows[-1]
    unit = Unit(next((row.limit_unit for row in reversed(rows) if row.limit_unit), newest.unit))
    past = tuple(
        PastReading(row.tested_on, _net(row, unit), row.bound == Bound.EXACT, row.outcome in _FAILED, row.after_repair)
        for row in rows
    )
    return ReadingHistory(
        newest.item_id, Check(newest.check), newest.point, unit, past, newest.at_most, newest.at_least,
        newest.multiple, newest.phase_deg,
    )  # fmt: skip


def _net(row: Any, unit: Unit) -> Decimal:
    """The value as it was judged, without the test lead, in the unit of the limit."""
    value: Decimal = row.value
    if row.lead_ohms is not None:
        value -= convert_number(row.lead_ohms, Unit.OHM, Unit(row.unit))
    return value if row.unit == unit else convert_number(value, Unit(row.unit), unit)
