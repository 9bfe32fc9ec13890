"""Hours as they are typed and kept, and days off of persons and of the firm."""

from datetime import date, timedelta

import pytest

from app.rules.working_times import DayOff, check_day_off, convert_week, describe_week, list_off, parse_span


@pytest.mark.parametrize("text", ["8:30-17:00", "08.30 – 17.00", "8:30 to 17", "0830-1700"])
def test_hours_are_read_however_they_are_typed(text: str) -> None:
    assert parse_span(text) == (510, 1020)


@pytest.mark.parametrize("text", ["17:00-8:30", "8:30", "8-8", "8:70-9:00", "22:00-25:00", "all day"])
def test_hours_that_cannot_be_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        parse_span(text)


def test_a_week_is_kept_and_read_back() -> None:
    kept = {"0": "08:30-17:00", "4": "09:00-12:30"}
    assert describe_week(convert_week(kept)) == kept
    assert parse_span("  ") is None


def test_days_off_are_a_persons_the_firms_and_the_bank_holidays() -> None:
    days = [date(2026, 4, 1) + timedelta(days=number) for number in range(10)]
    off = [DayOff(7, days[0], days[1], "course"), DayOff(8, days[2], days[2]), DayOff(None, days[7], days[9], "closed")]
    found = list_off(days, 7, off, {date(2026, 4, 3): "Good Friday", date(2026, 12, 25): "Christmas Day"})
    assert found == {
        days[0]: "course",
        days[1]: "course",
        date(2026, 4, 3): "Good Friday",
        **dict.fromkeys(days[7:], "closed"),
    }
    assert check_day_off(DayOff(7, days[1], days[0])) and not check_day_off(off[0])
