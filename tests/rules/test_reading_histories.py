"""Histories begin anew after a repair, and warn of what a sure trend meets before the next visit. Common practice."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.checks import Check
from app.rules.quantities import Unit
from app.rules.reading_histories import PastReading, ReadingHistory, list_since_repair, list_trend_warnings

EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE
DAY = date(2022, 3, 1)


def past(*values: str, failed: tuple[int, ...] = (), repaired: tuple[int, ...] = ()) -> tuple[PastReading, ...]:
    return tuple(
        PastReading(DAY + timedelta(days=365 * year), Decimal(value), True, year in failed, year in repaired)
        for year, value in enumerate(values)
    )


def history(readings: tuple[PastReading, ...], limit: str | None = "0.139", item_id: int = 7) -> ReadingHistory:
    return ReadingHistory(item_id, EARTH, "", Unit.OHM, readings, at_most=Decimal(limit) if limit else None)


def test_what_was_before_a_repair_belongs_to_another_item_as_it_were() -> None:
    assert len(list_since_repair(past("0.1", "0.2", "0.1", "0.1", failed=(1,)))) == 2
    assert len(list_since_repair(past("0.1", "0.1", "0.1", repaired=(2,)))) == 1
    assert len(list_since_repair(past("0.1", "0.2", "0.3", failed=(1, 2)))) == 3


def test_a_rising_reading_warns_of_its_item_alone() -> None:
    asked = []

    def next_visit(item_id: int) -> date:
        asked.append(item_id)
        return date(2026, 3, 1)

    rising, level = history(past("0.10", "0.11", "0.12", "0.13")), history(past(*["0.1"] * 4), item_id=8)
    found = list_trend_warnings([rising, level], next_visit)
    assert list(found) == asked == [7]
    assert found[7][0].short == "Protective conductor resistance reaches its limit about January 2026"
    assert found[7][0].remark.endswith("Advice only; the verdict stands.")


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (history(past("0.10", "0.11", "0.12")), "three readings are too few"),
        (history(past("0.10", "0.11", "0.12", "0.2", failed=(3,))), "it has failed already"),
        (history(past("0.10", "0.11", "0.12", "0.13"), None), "nothing limits it"),
        (history(past("0.09", "0.2", "0.11", "0.12", "0.13", failed=(1,))), "three since the repair"),
    ],
)
def test_no_warning(told: ReadingHistory, why: str) -> None:
    assert list_trend_warnings([told], lambda _: date(2027, 3, 1)) == {}, why


@given(st.lists(st.tuples(st.decimals("0.01", "0.2", places=2), st.booleans(), st.booleans()), min_size=1, max_size=9))
def test_the_newest_readings_are_always_kept(taken: list[tuple[Decimal, bool, bool]]) -> None:
    readings = tuple(
        PastReading(DAY + timedelta(days=place), value, True, failed, repaired)
        for place, (value, failed, repaired) in enumerate(taken)
    )
    kept = list_since_repair(readings)
    assert kept == readings[len(readings) - len(kept) :] and kept
    assert not any(reading.repaired for reading in kept[1:])
