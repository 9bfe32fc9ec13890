"""The history of one item's readings: each kind of reading drawn against its limit, with a trend that warns."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response

from app.rules.charts import BY_POWERS, Point, TimeChart, describe_time_chart
from app.rules.quantities import Bound, Unit, convert_reading
from app.rules.quantities import Reading as MeasuredValue
from app.rules.reading_histories import ReadingHistory, describe_history_trend, list_since_repair
from app.rules.trends import FEWEST
from app.store.items import ItemRow, get_item
from app.store.reading_histories import list_reading_histories
from app.store.readings import ReadingRow, list_item_history
from app.web.kit import Reading, TheDesk, page

routes = APIRouter()


@routes.get("/items/{item_id}/readings")
def show_item_readings(request: Request, session: Reading, desk: TheDesk, item_id: int) -> Response:
    row = get_item(session, item_id)
    groups: dict[tuple[Any, ...], list[tuple[date, ReadingRow]]] = {}
    for visited in reversed(list_item_history(session, item_id)):
        for reading in visited.readings:
            if reading.value is not None and visited.tested_on is not None:
                key = (reading.check, reading.point, reading.multiple, reading.phase_deg)
                groups.setdefault(key, []).append((visited.tested_on, reading))
    histories = {
        (each.check.value, each.point, each.multiple, each.phase_deg): each
        for each in list_reading_histories(session, [item_id])
    }
    charts = [_chart(row, histories[key], rows) for key, rows in groups.items()]
    return page(request, "items/readings.html", item=row, charts=charts, fewest=FEWEST)


def _chart(item: ItemRow, history: ReadingHistory, rows: list[tuple[date, ReadingRow]]) -> TimeChart:
    points = [_point(day, row, history.unit) for day, row in rows]
    trend = describe_history_trend(history, item.next_due_on)
    failed = history.past[-1].failed
    return describe_time_chart(
        history.title,
        trend.sentence if trend else _sentence(history, rows[-1][1], points),
        history.unit.symbol,
        points,
        by_powers=history.check in BY_POWERS,
        trend=trend,
        next_on=item.next_due_on,
        warning=trend is not None and trend.warning and not failed,
    )


def _point(day: date, row: ReadingRow, unit: Unit) -> Point:
    assert row.net is not None
    reading = convert_reading(MeasuredValue(row.net, Unit(row.unit), Bound(row.bound)), unit)
    limit = row.at_most if row.at_most is not None else row.at_least
    bound = "" if reading.bound == Bound.EXACT else reading.bound.value
    return Point(day, reading.value, limit, row.outcome, bound, reading.text, row.limit_text)


def _sentence(history: ReadingHistory, newest: ReadingRow, points: list[Point]) -> str:
    """What the picture says where there is no trend yet: the newest reading beside its limit."""
    limit = f" against {newest.limit_text}" if newest.limit_text else ""
    count = f"{len(points)} reading{'s' if len(points) > 1 else ''}"
    since = "" if len(list_since_repair(history.past)) == len(points) else " since the last repair"
    return (
        f"{count}, the newest {points[-1].reading_text}{limit}. "
        f"A trend is worked out from {FEWEST} exact readings on{since}."
    )
