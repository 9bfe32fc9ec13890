"""The history of one item's readings: each kind of reading drawn against its limit, with a trend that warns."""

from functools import partial

from fastapi import APIRouter, Request, Response

from app.rules.charts import Point, TimeChart, describe_both_widths, describe_time_chart, list_points
from app.rules.horizons import Horizon
from app.rules.reading_histories import ReadingHistory, describe_history, list_since_repair
from app.rules.trends import FEWEST
from app.store.items import get_item
from app.store.reading_histories import list_reading_histories
from app.web.kit import Reading, TheDesk, page
from app.web.trend_warnings import show_item_horizon

routes = APIRouter()


@routes.get("/items/{item_id}/readings")
def show_item_readings(request: Request, session: Reading, desk: TheDesk, item_id: int) -> Response:
    row = get_item(session, item_id)
    horizon = show_item_horizon(row, row.next_due_on, desk.today)
    charts = [_chart(each, horizon) for each in list_reading_histories(session, [item_id])]
    return page(request, "items/readings.html", item=row, charts=charts, fewest=FEWEST)


def _chart(history: ReadingHistory, horizon: Horizon | None) -> TimeChart:
    points, told = list_points(history), describe_history(history, horizon)
    draw = partial(
        describe_time_chart,
        history.title,
        told.sentence if told.trend else " ".join((told.sentence, _sentence(history, points))).strip(),
        history.unit.symbol,
        points,
        by_powers=history.by_powers,
        trend=told.trend,
        horizon=horizon,
        warning=told.warning,
    )
    return describe_both_widths(lambda width: draw(width=width))


def _sentence(history: ReadingHistory, points: tuple[Point, ...]) -> str:
    """What the picture says where there is no trend yet: the newest reading beside its limit."""
    newest = points[-1]
    limit = f" against {newest.limit_text}" if newest.limit_text else ""
    count = f"{len(points)} reading{'s' if len(points) > 1 else ''}"
    since = "" if len(list_since_repair(history.past)) == len(points) else " since the last repair"
    return (
        f"{count}, the newest {newest.reading_text}{limit}. "
        f"A trend is worked out from {FEWEST} exact readings on{since}."
    )
