"""Nobody and nothing in two places at once: clashes compared with a minute-by-minute count; what only warns.

Spans that touch do not overlap: half-open intervals, as RFC 5545, 3.6.1 has it for DTEND.
"""

from datetime import date, timedelta
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
from app.rules.held_days import DAYS_MOST, HeldDay, convert_held_days, describe_days, list_held_days, parse_held_days
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


@pytest.mark.parametrize("seed", range(8))
def test_a_long_visit_takes_every_working_minute_from_its_first_day_on(seed: int) -> None:
    """Against a walk that hands out the work in steps of five minutes, knowing nothing of days and rooms."""
    luck = Random(seed)
    first = date(2026, 3, 9)
    week = [luck.choice([None, (480, 1020), (540, 900), (510, 1020)]) for _ in range(7)]
    hours = {first + timedelta(days=number): week[number % 7] for number in range(61)}
    hours[first] = (510, 1020)
    minutes, start = luck.randrange(515, 4000, 5), luck.choice([None, 510, 560, 630])
    walked: dict[date, list[int]] = {}
    left = minutes
    for day, span in hours.items():
        for at in range(0, 1440, 5):
            if left and span and max(span[0], start or 510) <= at < span[1]:
                walked.setdefault(day, []).append(at)
                left -= 5
    found = list_held_days(first, start, minutes, hours)
    if left or len(walked) > DAYS_MOST:
        assert found == ()
        return
    told = [(each.day, each.start, each.minutes) for each in found]
    assert told == [(day, steps[0], 5 * len(steps)) for day, steps in walked.items()]
    assert parse_held_days(convert_held_days(found)) == found


def test_a_visit_that_fits_into_a_day_stays_on_it_and_days_can_be_asked_for() -> None:
    friday = date(2026, 4, 3)
    hours = {friday + timedelta(days=number): None if number in (1, 2, 3) else (510, 1020) for number in range(20)}
    assert list_held_days(friday, 900, 510, hours) == (HeldDay(friday, 900, 510),)  # late, which is only warned of
    assert [each.minutes for each in list_held_days(friday, None, 515, hours)] == [510, 5]
    spread = list_held_days(friday, 540, 400, hours, asked=3)
    days = [friday, friday + timedelta(days=4), friday + timedelta(days=5)]
    assert [(each.day, each.start, each.minutes) for each in spread] == [
        (days[0], 540, 135), (days[1], 540, 135), (days[2], 540, 130)
    ]  # fmt: skip
    assert describe_days(days) == "Fri 3 to Wed 8 April 2026, 3 days"
    assert describe_days([date(2026, 12, 31), date(2027, 1, 1)]) == "Thu 31 December 2026 to Fri 1 January 2027"
    assert list_held_days(friday, None, 2000, hours, asked=1) == (HeldDay(friday, None, 2000),)
    assert check_booked_time(510, 2000)
    assert list_held_days(friday, None, 60 * 510, hours) == () == list_held_days(friday, None, 600, hours, asked=20)
    assert list_held_days(friday, 1020, 600, hours) == ()
