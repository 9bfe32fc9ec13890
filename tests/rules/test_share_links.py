"""How long a link lives, and how guesses are slowed (W3C TAG, Good Practices for Capability URLs)."""

from datetime import UTC, date, datetime, timedelta

import pytest

from app.rules.share_links import TOKEN_BYTES, judge_link, may_open, may_try, next_expiry

MADE = date(2026, 3, 4)
NOW = datetime(2026, 3, 4, 10, tzinfo=UTC)


def test_a_token_has_more_randomness_than_the_note_asks_for() -> None:
    assert TOKEN_BYTES * 8 >= 120


@pytest.mark.parametrize(("days", "last"), [(1, date(2026, 3, 5)), (90, date(2026, 6, 2)), (365, date(2027, 3, 4))])
def test_the_last_day_is_counted_from_the_day_of_making(days: int, last: date) -> None:
    assert next_expiry(MADE, days) == last
    assert may_open(last, None, last)
    assert not may_open(last, None, last + timedelta(days=1))


@pytest.mark.parametrize("days", [-1, 0, 366, 100_000])
def test_a_link_lives_from_one_day_to_a_year(days: int) -> None:
    with pytest.raises(ValueError, match="1 to 365"):
        next_expiry(MADE, days)


def test_a_withdrawn_link_is_withdrawn_whatever_its_day() -> None:
    assert judge_link(MADE, NOW, MADE) == "withdrawn"
    assert judge_link(MADE, NOW, MADE + timedelta(days=9)) == "withdrawn"
    assert judge_link(MADE, None, MADE) == "open"
    assert judge_link(MADE, None, MADE + timedelta(days=1)) == "expired"


def test_thirty_failures_in_a_minute_are_the_most() -> None:
    failed = [NOW - timedelta(seconds=second) for second in range(30)]
    assert may_try(failed[:29], NOW)
    assert not may_try(failed, NOW)
    assert may_try(failed, NOW + timedelta(seconds=31))
