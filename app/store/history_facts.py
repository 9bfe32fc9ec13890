"""Facts for the history of one item: every test of it, and every measured reading with the limit of its time."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Session

from app.rules.charts import Point
from app.rules.checks import Check
from app.rules.papers import HistoryReadings, HistoryTest
from app.rules.quantities import Bound, Reading, Unit, convert_number, convert_reading
from app.rules.reading_histories import ReadingHistory
from app.rules.verdicts import Verdict
from app.store.readings import ReadingRow, VisitItemRow, list_item_history

_Key = tuple[str, str, Decimal | None, int | None]


def facts_for_history(
    session: Session, item_id: int, until: date
) -> tuple[tuple[HistoryTest, ...], tuple[HistoryReadings, ...]]:
    """The tests of an item up to a day, the oldest first, and its readings by check and point."""
    rows = [row for row in reversed(list_item_history(session, item_id)) if row.tested_on and row.tested_on <= until]
    tests = tuple(test for row in rows for test in _tests(row))
    groups: dict[_Key, list[tuple[date, ReadingRow]]] = {}
    for row in rows:
        for reading in (*(each for earlier in row.rounds for each in earlier.readings), *row.readings):
            if reading.value is not None and row.tested_on is not None:
                key = (reading.check, reading.point, reading.multiple, reading.phase_deg)
                groups.setdefault(key, []).append((row.tested_on, reading))
    return tests, tuple(_readings(item_id, key, group) for key, group in groups.items())


def _tests(row: VisitItemRow) -> Iterator[HistoryTest]:
    assert row.tested_on is not None
    visit, name = str(row.visit_id), row.tested_by.name if row.tested_by else ""
    for earlier in row.rounds:
        found = [defect.found for defect in earlier.defects]
        by = earlier.tested_by.name if earlier.tested_by else name
        notes = (*found, f"Put right on the spot: {earlier.put_right}", earlier.note)
        yield HistoryTest(earlier.tested_on or row.tested_on, Verdict(earlier.verdict), by, visit, _given(*notes), True)
    repaired = "Tested after a repair" if row.after_repair else ""
    notes = (repaired, *(defect.found for defect in row.defects), row.note)
    yield HistoryTest(row.tested_on, Verdict(row.verdict or "incomplete"), name, visit, _given(*notes))


def _readings(item_id: int, key: _Key, group: list[tuple[date, ReadingRow]]) -> HistoryReadings:
    check, point, multiple, phase = key
    unit = Unit(next((row.limit_unit for _, row in reversed(group) if row.limit_unit), group[-1][1].unit))
    title = ReadingHistory(item_id, Check(check), point, unit, (), multiple=multiple, phase_deg=phase).title
    return HistoryReadings(Check(check), title, unit.symbol, tuple(_point(day, row, unit) for day, row in group))


def _point(day: date, row: ReadingRow, unit: Unit) -> Point:
    assert row.net is not None
    reading = convert_reading(Reading(row.net, Unit(row.unit), Bound(row.bound)), unit)
    limit = row.at_most if row.at_most is not None else row.at_least
    if limit is not None and row.limit_unit and row.limit_unit != unit:
        limit = convert_number(limit, Unit(row.limit_unit), unit)
    bound = "" if reading.bound == Bound.EXACT else reading.bound.value
    return Point(day, reading.value, limit, row.outcome, bound, reading.text, row.limit_text)


def _given(*notes: str) -> tuple[str, ...]:
    return tuple(note for note in notes if note)
