"""Histories begin anew after a repair, and warn of what they meet before the next visit. Common practice."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.checks import Check
from app.rules.horizons import Horizon, next_horizon
from app.rules.quantities import Bound, Unit
from app.rules.reading_histories import PastReading, ReadingHistory, list_since_repair, list_trend_warnings

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE
DAY = date(2021, 3, 1)


def past(*values: str, failed: tuple[int, ...] = (), repaired: tuple[int, ...] = ()) -> tuple[PastReading, ...]:
    return tuple(
        PastReading(DAY + timedelta(days=365 * year), Decimal(value), Bound.EXACT, year in failed, year in repaired)
        for year, value in enumerate(values)
    )


def history(readings: tuple[PastReading, ...], limit: str | None = "0.139", item_id: int = 7) -> ReadingHistory:
    return ReadingHistory(item_id, EARTH, "", Unit.OHM, readings, at_most=Decimal(limit) if limit else None)


def in_2027(item_id: int) -> Horizon:
    return next_horizon(date(2027, 3, 1), date(2025, 3, 1))


def test_what_was_before_a_repair_belongs_to_another_item_as_it_were() -> None:
    assert len(list_since_repair(past("0.1", "0.2", "0.1", "0.1", failed=(1,)))) == 2
    assert len(list_since_repair(past("0.1", "0.1", "0.1", repaired=(2,)))) == 1
    assert len(list_since_repair(past("0.1", "0.2", "0.3", failed=(1, 2)))) == 3


def test_a_rising_reading_warns_of_its_item_alone() -> None:
    asked = []

    def horizon(item_id: int) -> Horizon:
        asked.append(item_id)
        return next_horizon(date(2026, 3, 1), date(2025, 3, 1))

    rising, level = history(past("0.09", "0.10", "0.11", "0.12", "0.13")), history(past(*["0.1"] * 5), item_id=8)
    found = list_trend_warnings([rising, level], horizon)
    assert list(found) == asked == [7]
    [warning] = found[7]
    assert warning.whole == (
        "Protective conductor resistance reaches its limit about January 2026, before the next visit."
    )
    assert "moving towards its limit over 5 visits, and there about January 2026" in warning.remark
    assert warning.remark.endswith("before the next test is due. Advice only; the verdict stands.")
    assert list_trend_warnings([rising], lambda _: None) == {}, "a withdrawn item is not followed"


def test_four_readings_that_close_the_margin_warn_in_other_words() -> None:
    [warning] = list_trend_warnings([history(past("0.05", "0.07", "0.10", "0.13"))], in_2027)[7]
    assert warning.told.trend is None
    assert warning.short == "Protective conductor resistance would have reached its limit about July 2024"
    assert "nearer its limit at each of the last 3 visits; 89 % of the margin has gone" in warning.remark
    assert "This rests on few readings. Advice only" in warning.remark
    [slower] = list_trend_warnings(
        [history(past("0.05", "0.07", "0.08", "0.10"))], lambda _: next_horizon(date(2025, 3, 1), date(2024, 3, 1))
    )[7]
    assert slower.meets_on is None
    assert slower.whole.endswith("step by step, and 56 % of the margin has gone; this rests on few readings.")


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (history(past("0.10", "0.11", "0.12")), "three readings are too few"),
        (history(past("0.09", "0.10", "0.11", "0.12", "0.2", failed=(4,))), "it has failed already"),
        (history(past("0.09", "0.10", "0.11", "0.12", "0.13"), None), "nothing limits it"),
        (history(past("0.09", "0.2", "0.11", "0.12", "0.13", failed=(1,))), "three since the failure was put right"),
        (history(past("0.09", "0.10", "0.11", "0.12", "0.13", repaired=(3,))), "two since a repair of another part"),
    ],
)
def test_no_warning(told: ReadingHistory, why: str) -> None:
    assert list_trend_warnings([told], in_2027) == {}, why


@given(st.lists(st.tuples(st.decimals("0.01", "0.2", places=2), st.booleans(), st.booleans()), min_size=1, max_size=9))
def test_the_newest_readings_are_always_kept(taken: list[tuple[Decimal, bool, bool]]) -> None:
    readings = tuple(
        PastReading(DAY + timedelta(days=place), value, Bound.EXACT, failed, repaired)
        for place, (value, failed, repaired) in enumerate(taken)
    )
    kept = list_since_repair(readings)
    assert kept == readings[len(readings) - len(kept) :] and kept
    assert not any(reading.repaired for reading in kept[1:])
