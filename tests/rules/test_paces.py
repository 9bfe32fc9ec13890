"""How long a visit takes: the middle of the firm's own steps, pauses left out, else values that are named as ours.

The median and quartiles are compared with Python's own statistics module. The bounds are ours: common
practice, no source.
"""

from decimal import Decimal
from random import Random
from statistics import median

from app.rules.equipment import Kind
from app.rules.paces import (
    AROUND_MINUTES,
    STARTING_MINUTES,
    STEPS_LEAST,
    Basis,
    check_minutes,
    list_paces,
    total_estimate,
)


def test_pauses_and_entries_that_came_together_do_not_count() -> None:
    luck = Random(4)
    seconds = [luck.randint(120, 600) for _ in range(41)]
    lunches, batches = [3600] * 15, [0, 1, 2] * 10
    steps = [(Kind.APPLIANCE, each) for each in seconds + lunches + batches]
    luck.shuffle(steps)
    pace = list_paces(steps)[Kind.APPLIANCE]
    assert pace.steps == 41 and pace.basis == Basis.KIND
    assert abs(pace.minutes - Decimal(median(seconds)) / 60) <= Decimal("0.05")
    assert pace.quarter < pace.minutes < pace.three_quarters


def test_a_kind_without_enough_history_takes_all_kinds_and_nothing_takes_the_starting_value() -> None:
    few = [(Kind.EXTENSION_LEAD, 240)] * (STEPS_LEAST - 1)
    assert list_paces(few)[Kind.EXTENSION_LEAD].basis == Basis.STARTING_VALUE
    enough = list_paces([*few, (Kind.APPLIANCE, 300)])
    assert enough[Kind.CHARGER].basis == Basis.ALL_KINDS and enough[Kind.CHARGER].minutes == 4
    start = list_paces([])
    assert {kind: pace.minutes for kind, pace in start.items()} == STARTING_MINUTES
    assert set(STARTING_MINUTES) == set(Kind)
    assert "starting values" in total_estimate({Kind.APPLIANCE: 3}, start).sentence


def test_an_estimate_adds_up_by_kind_and_is_rounded_upwards() -> None:
    paces = list_paces([(Kind.APPLIANCE, 300)] * 30 + [(Kind.DETACHABLE_CORD, 60)] * 30)
    found = total_estimate({Kind.APPLIANCE: 10, Kind.DETACHABLE_CORD: 7}, paces)
    assert found.minutes == 75 and AROUND_MINUTES + 57 == 72  # up to the next five
    assert (found.least, found.most, found.items, found.steps) == (75, 75, 17, 60)
    assert "60 items" in found.sentence and "starting" not in found.sentence
    assert total_estimate({}, paces).minutes == AROUND_MINUTES
    assert (
        check_minutes(4)
        and check_minutes(12_001)
        and not check_minutes(1441)
        and not check_minutes(None)
        and not check_minutes(5)
    )
