"""Nobody and nothing in two places at once: clashes compared with a minute-by-minute count; what only warns.

Spans that touch do not overlap: half-open intervals, as RFC 5545, 3.6.1 has it for DTEND.
"""

from random import Random

import pytest

from app.rules.bookings import (
    DAY_MINUTES,
    Held,
    check_booked_time,
    list_clashes,
    list_hour_warnings,
    next_free_start,
)
from app.rules.planners import Hours, View, describe_day, list_shown_days, suggest_start
from tests.cast import Clock

TODAY = Clock().today


def held(visit_id: int, start: int | None, minutes: int | None, technician: int = 1, instrument: int = 1) -> Held:
    return Held(visit_id, start, minutes, technician, f"T{technician}", instrument, f"I{instrument}", "Mill")


@pytest.mark.parametrize("seed", range(8))
def test_clashes_and_free_times_agree_with_counting_every_minute(seed: int) -> None:
    luck = Random(seed)
    others = [
        held(number, luck.choice([None, luck.randrange(0, 1200, 5)]), luck.randrange(5, 200, 5), luck.randint(1, 3),
             luck.randint(1, 3))
        for number in range(1, 9)
    ]  # fmt: skip
    wish = held(0, luck.randrange(0, 1200, 5), luck.randrange(5, 200, 5))

    def busy(start: int, length: int) -> set[tuple[int, str]]:
        mine = set(range(start, start + length))
        return {
            (other.visit_id, field)
            for other in others
            if other.start is not None and mine & set(range(other.start, other.start + other.length))
            for field in ("technician_id", "instrument_id")
            if getattr(other, field) == 1
        }

    assert wish.start is not None
    assert {(clash.visit_id, clash.field) for clash in list_clashes(wish, others)} == busy(wish.start, wish.length)
    wanted = next((start for start in range(510, DAY_MINUTES, 5) if not busy(start, wish.length)), None)
    found = next_free_start(wish, others)
    assert found == (wanted if wanted is None or wanted + wish.length <= DAY_MINUTES else None)


def test_one_visit_may_follow_the_other_and_stands_not_in_its_own_way() -> None:
    assert not list_clashes(held(0, 600, 60), [held(1, 540, 60), held(2, 660, 60), held(0, 600, 60)])
    [clash] = list_clashes(held(0, 600, 60), [held(1, 659, 30, instrument=2)])
    assert clash.field == "technician_id" and clash.sentence == "T1 is booked from 10:59 to 11:29 at Mill."
    assert check_booked_time(1400, 41) and not check_booked_time(1400, 40)


def test_hours_and_holidays_only_warn() -> None:
    assert list_hour_warnings(540, 60, (510, 1020)) == ()
    assert list_hour_warnings(500, 60, (510, 1020)) == ("Outside working hours, 08:30 to 17:00.",)
    assert list_hour_warnings(540, 60, (510, 1020), "Boxing Day") == ("Boxing Day.",)
    assert list_hour_warnings(None, 60, None) == ("No working day.",)
    day = describe_day([held(1, 540, 300), held(2, None, 300)], 1, Hours((510, 1020)))
    assert day.load == 600 and day.warnings == ("More than the working hours.",)
    old = describe_day([held(1, 540, None), held(2, 550, None)], 1, Hours((510, 1020)))
    assert all("is booked from" in told[-1] for told in old.of_visits.values())  # of before times were held


def test_the_pool_takes_the_earliest_start_and_of_equals_the_usual_instrument() -> None:
    day = [held(1, 510, 120, technician=2, instrument=1)]
    wish = Held(0, None, 60, 1, "T1", 0, "", "")
    first = suggest_start(wish, [1, 2], day, Hours((510, 1020)))
    assert first is not None and (first.instrument_id, first.start) == (2, 510)
    later = suggest_start(wish, [1], day, Hours((510, 1020)))
    assert later is not None and later.start == 630
    assert suggest_start(wish, [1, 2], [], Hours(None)) == first.__class__(1, 510)


def test_weeks_begin_on_monday_and_months_are_whole_weeks() -> None:
    week = list_shown_days(View.WEEK, TODAY)
    assert (week.first.isoformat(), week.last.isoformat()) == ("2026-03-02", "2026-03-08")
    assert week.title == "2 to 8 March 2026"
    month = list_shown_days(View.MONTH, TODAY)
    assert month.first.isoformat() == "2026-02-23" and month.last.isoformat() == "2026-04-05"
    assert (month.before.isoformat(), month.after.isoformat()) == ("2026-02-01", "2026-04-01")
    turn = list_shown_days(View.WEEK, TODAY.replace(year=2027, month=1, day=1))
    assert turn.title == "28 December 2026 to 3 January 2027"
