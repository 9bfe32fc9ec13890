"""Facts for the history of one item: every test of it, and every measured reading with the limit of its time."""

from collections.abc import Iterator
from datetime import date

from sqlalchemy.orm import Session

from app.rules.charts import list_points
from app.rules.papers import HistoryReadings, HistoryTest
from app.rules.verdicts import Verdict
from app.store.reading_histories import list_reading_histories
from app.store.readings import VisitItemRow, list_item_history


def facts_for_history(
    session: Session, item_id: int, until: date
) -> tuple[tuple[HistoryTest, ...], tuple[HistoryReadings, ...]]:
    """The tests of an item up to a day, the oldest first, and its readings by check and point."""
    rows = [row for row in reversed(list_item_history(session, item_id)) if row.tested_on and row.tested_on <= until]
    tests = tuple(test for row in rows for test in _tests(row))
    histories = list_reading_histories(session, [item_id], until)
    readings = tuple(HistoryReadings(each.check, each.title, each.unit.symbol, list_points(each)) for each in histories)
    return tests, readings


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


def _given(*notes: str) -> tuple[str, ...]:
    return tuple(note for note in notes if note)
