"""Where marks, limits and words of a drawn history stand: limits in steps, no word upon another. Common practice."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from app.rules.chart_words import BOTTOM, HEIGHT, LEFT, NARROW, RIGHT, WIDTH, Word, list_day_words
from app.rules.charts import Point, TimeChart, describe_time_chart
from app.rules.horizons import next_horizon
from app.rules.quantities import Unit
from app.rules.trends import describe_trend
from tests.rules.test_trends import history

FIRST = date(2021, 3, 1)


def drawn(*told: tuple[int, str, str], width: int = WIDTH, change: str = "") -> TimeChart:
    """Readings of (days after the first, value, limit); the change is said of the last one."""
    points = [
        Point(FIRST + timedelta(days=days), Decimal(value), Decimal(limit), "pass", "", value, limit,
              change if place == len(told) - 1 else "")
        for place, (days, value, limit) in enumerate(told)
    ]  # fmt: skip
    horizon = next_horizon(FIRST + timedelta(days=4000), FIRST)
    trend = describe_trend(history("0.05", "0.06", "0.08", "0.09", "0.1"), Unit.OHM, at_most=Decimal("0.139"))
    return describe_time_chart("Resistance", "", "Ω", points, trend=trend, horizon=horizon, width=width)


def test_a_limit_that_changes_is_drawn_as_a_step_at_the_reading_it_was_first_used_for() -> None:
    chart = drawn((0, "0.1", "0.139"), (365, "0.1", "0.139"), (730, "0.1", "0.3"))
    turns = list(zip(chart.limit, chart.limit[1:], strict=False))
    assert all(a[0] == b[0] or a[1] == b[1] for a, b in turns), "a slope claims limits that never held"
    assert {x for (x, y), (_, to) in turns if y != to} == {chart.marks[2].x}
    assert (chart.limit[0][0], chart.limit[-1][0]) == (LEFT, WIDTH - RIGHT)


def test_a_line_that_leaves_the_drawing_ends_there() -> None:
    chart = drawn((0, "0.05", "0.139"), (365, "0.06", "0.139"))
    edges = [y for _, y in chart.trend if y in (16.0, float(HEIGHT - BOTTOM))]
    assert len(edges) <= 1 and chart.trend[-1][0] < WIDTH - RIGHT


def test_days_of_one_month_are_told_as_days_and_no_word_comes_twice() -> None:
    def across(day: date) -> float:
        return float((day - FIRST).days * 10)

    one, same_day = [date(2021, 3, day) for day in (1, 9, 24)], [FIRST] * 3
    assert [word for _, word in list_day_words(one, across)] == ["1 Mar 2021", "24 Mar 2021"]
    assert [word for _, word in list_day_words(same_day, across)] == ["Mar 2021"]
    years = [date(2021, 3, 1), date(2021, 3, 20), date(2023, 3, 1)]
    assert [word for _, word in list_day_words(years, across)] == ["Mar 2021", "Mar 2023"]


days = st.lists(st.integers(0, 3990), min_size=1, max_size=8).map(sorted)
numbers = st.decimals("0.01", "0.3", places=2).map(str)


@given(days, st.lists(st.tuples(numbers, numbers), min_size=8, max_size=8), st.sampled_from([WIDTH, NARROW]))
def test_no_word_stands_upon_another(when: list[int], told: list[tuple[str, str]], width: int) -> None:
    readings = [(day, *each) for day, each in zip(when, told, strict=False)]
    chart = drawn(*readings, width=width, change="other instrument")
    last = len(chart.across) - 1
    below = [
        Word(x, HEIGHT - 10, "start" if not place and last else "end" if place == last and last else "middle", text)
        for place, (x, text) in enumerate(chart.across)
    ]
    beside = [Word(LEFT - 8, y + 4, "end", text) for y, text in chart.up]
    boxes = [word.box for word in (*chart.words, *below, *beside)]
    for place, (left, top, right, foot) in enumerate(boxes):
        assert left >= 0 and right <= width + 1
        for a, t, b, f in boxes[place + 1 :]:
            assert not (left < b and right > a and top < f and foot > t), (chart.words, below, beside)
