"""The history of one item's readings: each kind of reading drawn against its limit, with a trend that warns."""

from datetime import date

from fastapi import APIRouter, Request, Response

from app.rules.checks import Check
from app.rules.quantities import Bound, Unit, convert_reading
from app.rules.quantities import Reading as MeasuredValue
from app.rules.trends import FEWEST, describe_trend
from app.store.items import ItemRow, get_item
from app.store.readings import ReadingRow, list_item_history
from app.web.charts import Point, TimeChart, show_time_chart
from app.web.kit import Reading, TheDesk, page

routes = APIRouter()

#: Insulation goes from a hundred kilohms to gigohms, so its scale goes by powers of ten.
BY_POWERS = (Check.INSULATION_RESISTANCE,)


@routes.get("/items/{item_id}/readings")
def show_item_readings(request: Request, session: Reading, desk: TheDesk, item_id: int) -> Response:
    row = get_item(session, item_id)
    groups: dict[tuple[Check, str], list[tuple[date, ReadingRow]]] = {}
    for visited in reversed(list_item_history(session, item_id)):
        for reading in visited.readings:
            if reading.value is not None and visited.tested_on is not None:
                groups.setdefault((Check(reading.check), reading.point), []).append((visited.tested_on, reading))
    charts = [_chart(row, check, point, rows) for (check, point), rows in groups.items()]
    return page(request, "items/readings.html", item=row, charts=charts, fewest=FEWEST)


def _chart(item: ItemRow, check: Check, point: str, rows: list[tuple[date, ReadingRow]]) -> TimeChart:
    unit = Unit(next((row.limit_unit for _, row in reversed(rows) if row.limit_unit), rows[-1][1].unit))
    points = [_point(day, row, unit) for day, row in rows]
    title = f"{check.word[0].upper()}{check.word[1:]}{f', {point}' if point else ''}"
    sentence = _sentence(item, rows, points, unit)
    return show_time_chart(title, sentence, unit.symbol, points, by_powers=check in BY_POWERS)


def _point(day: date, row: ReadingRow, unit: Unit) -> Point:
    assert row.net is not None
    reading = convert_reading(MeasuredValue(row.net, Unit(row.unit), Bound(row.bound)), unit)
    limit = row.at_most if row.at_most is not None else row.at_least
    bound = "" if reading.bound == Bound.EXACT else reading.bound.value
    return Point(day, reading.value, limit, row.outcome, bound, reading.text, row.limit_text)


def _sentence(item: ItemRow, rows: list[tuple[date, ReadingRow]], points: list[Point], unit: Unit) -> str:
    """What the picture says: the trend where there is one, else the newest reading beside the one before."""
    exact = [(point.on, point.value) for point in points if not point.bound]
    newest = rows[-1][1]
    trend = describe_trend(
        exact, unit, at_most=newest.at_most, at_least=newest.at_least, next_visit_on=item.next_due_on
    )
    if trend is not None:
        return trend.sentence
    limit = f" against {newest.limit_text}" if newest.limit_text else ""
    count = f"{len(points)} reading{'s' if len(points) > 1 else ''}"
    return (
        f"{count}, the newest {points[-1].reading_text}{limit}. A trend is worked out from {FEWEST} exact readings on."
    )
