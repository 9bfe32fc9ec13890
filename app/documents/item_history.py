"""The history of one item as data: what it is, every test on record, and each kind of reading drawn with its limit."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from app.documents.paper_heads import head_from
from app.documents.typesetting import count_from, day_from, short_day_from
from app.rules.charts import describe_time_chart
from app.rules.papers import HistoryReadings, HistoryTest, PaperHead, PaperKind, RegisterItem
from app.rules.trends import BY_POWERS

_NOTES = (
    "Each reading stands beside the limit that held when it was taken; a limit moves where the facts of the item, the "
    "firm’s own limits or the method did.",
    "A reading within its limit says nothing of damage done since. Look the item over before each use, and take it out "
    "of use at once if it is damaged, runs hot or smells of burning.",
    "An arrow at a mark means that the instrument showed only more, or only less, than the value drawn. An upright "
    "line stands where the item was repaired, or another instrument took over.",
)


def item_history_from(
    head: PaperHead, item: RegisterItem, tests: Sequence[HistoryTest], readings: Sequence[HistoryReadings]
) -> dict[str, Any]:
    """Give all that the history says; tests and readings come oldest first."""
    serial = f"serial {item.serial}" if item.serial else ""
    product = " ".join(part for part in (item.make, item.model) if part)
    return head_from(PaperKind.ITEM_HISTORY, "History of one item", head) | {
        "summary": {"items": 1, "sentence": _sentence(item, tests), "tallies": []},
        "item": {
            "number": item.number,
            "description": item.description,
            "product": ", ".join(part for part in (product, serial) if part),
            "build": item.build,
            "location": item.location,
            "premises": item.premises,
            "state": item.state.value,
            "next_due": day_from(item.next_due_on),
        },
        "tests": [
            {
                "day": short_day_from(test.on),
                "on": test.on.isoformat(),
                "verdict": test.verdict.value,
                "word": test.verdict.word,
                "as_found": test.as_found,
                "by": test.technician,
                "visit": test.visit_number,
                "notes": [f"{note.rstrip('.')}." for note in test.notes],
            }
            for test in tests
        ],
        "charts": [_chart(place, each) for place, each in enumerate(readings, start=1)],
        "notes": list(_NOTES),
    }


def _sentence(item: RegisterItem, tests: Sequence[HistoryTest]) -> str:
    name = f"{item.number} {item.description}"
    if not tests:
        return f"{name}: no test is on record."
    last = tests[-1]
    count = count_from(len({(test.on, test.visit_number) for test in tests}), "test", "tests")
    return f"{name}: {count} on record, the last on {day_from(last.on)}: {last.verdict.word}."


def _chart(place: int, readings: HistoryReadings) -> dict[str, Any]:
    """One drawing with the table behind it, and in words what the picture shows."""
    points = readings.points
    first, last = points[0], points[-1]
    against = f", against {last.limit_text}" if last.limit_text else ""
    count = count_from(len(points), "reading", "readings")
    since = "" if len(points) == 1 else f" from {short_day_from(first.on)} to {short_day_from(last.on)}"
    sentence = f"{count}{since}, the newest {last.reading_text}{against}."
    chart = describe_time_chart(readings.title, sentence, readings.unit, points, by_powers=readings.check in BY_POWERS)
    drawn = asdict(chart)
    kept = ("title", "sentence", "unit", "marks", "limit", "across", "up", "rows", "row_notes", "changes", "words")
    return {name: drawn[name] for name in (*kept, "width", "height")} | {
        "name": f"chart-{place}.svg",
        "alternative": f"{readings.title}: {sentence} The table below says the same.",
        "readings": [
            {
                "on": point.on.isoformat(),
                "value": f"{point.value:f}",
                "bound": point.bound,
                "limit": f"{point.limit:f}" if point.limit is not None else "",
                "limit_text": point.limit_text,
                "outcome": point.outcome,
            }
            for point in points
        ],
    }
