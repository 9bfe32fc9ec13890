"""What stops the use of an instrument, what only warns, and who may allow what.

That a failed reference check counts like no calibration is our own rule; no source.
"""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from app.rules.instrument_allowances import (
    Allowance,
    describe_allowance,
    list_used_allowances,
    may_allow_instrument,
    may_use_instrument,
)
from app.rules.instrument_standings import Standing, list_overdue_checks, list_worries
from app.rules.people import Role

MARCH = date(2026, 3, 4)


def on(month: int, day: int = 1) -> date:
    return date(2026, month, day)


def test_the_last_day_of_a_calibration_counts() -> None:
    held = Standing(1, "Blue", good_until=MARCH)
    assert list_worries(held, MARCH) == ()
    assert list_worries(held, on(3, 5)) == ("The calibration of Blue holds until 4 March 2026 only.",)
    assert list_worries(Standing(1, "Blue"), MARCH) == ("Blue has no calibration on record.",)
    failed = Standing(1, "Blue", failed_on=on(2))
    assert list_worries(failed, MARCH) == ("Blue failed its calibration of 1 February 2026.",)


def test_a_failed_check_stops_it_and_a_due_one_only_warns() -> None:
    due = Standing(1, "Blue", on(12), checks_until=(("1 Ω", on(3, 3)), ("1 MΩ", on(3, 4)), ("2 MΩ", None)))
    assert list_worries(due, MARCH) == ()
    assert list_overdue_checks(due, MARCH) == (
        "The last check of Blue against 1 Ω counts until 3 March 2026 only.",
        "Blue has not been checked against 2 MΩ yet.",
    )
    failed = Standing(1, "Blue", on(12), failed_checks=(("1 Ω", on(2)),))
    assert list_worries(failed, MARCH) == ("Blue failed its check against 1 Ω on 1 February 2026.",)


def test_an_allowance_stands_for_its_instrument_and_what_was_known() -> None:
    old, new = "Blue has no calibration on record.", "Blue failed its check against 1 Ω on 4 March 2026."
    allowance = Allowance(1, (old,), "Ines Tarn", "4 March 2026", "The other one broke")
    assert may_use_instrument(1, ()) is None
    assert may_use_instrument(1, (old,), [allowance]) is None
    assert "Only the owner can allow it" in (may_use_instrument(1, (old,)) or "")
    assert (may_use_instrument(1, (old, new), [allowance]) or "").startswith(new)
    assert may_use_instrument(2, (old,), [allowance]) is not None
    assert describe_allowance(allowance) == (
        "Blue has no calibration on record. Ines Tarn (owner) allowed its use on 4 March 2026. "
        "Reason: The other one broke"
    )


def test_an_allowance_that_is_withdrawn_lets_nothing_more_through_and_is_printed_with_what_it_let() -> None:
    worry = "Blue has no calibration on record."
    at = [datetime(2026, 3, 4, hour, tzinfo=UTC) for hour in range(9, 15)]
    standing = Allowance(1, (worry,), "Ines Tarn", "4 March 2026", "The other one broke", at[1])
    gone = replace(standing, withdrawn_by="Ines Tarn", withdrawn_on="4 March 2026", withdrawn_at=at[3])
    assert may_use_instrument(1, (worry,), [gone]) is not None
    assert may_use_instrument(1, (worry,), [gone, standing]) is None
    assert list_used_allowances([standing], [(2, at[2])]) == (), "its instrument measured nothing"
    assert list_used_allowances([standing], [(2, at[2]), (1, at[5])]) == (standing,)
    assert list_used_allowances([gone], [(1, at[2])]) == (gone,)
    assert list_used_allowances([gone], [(1, at[0]), (1, at[4])]) == (), "measured before and after, not under it"
    assert describe_allowance(gone).endswith("The other one broke. Withdrawn on 4 March 2026 by Ines Tarn.")


@pytest.mark.parametrize(("role", "may"), [(Role.OWNER, True), (Role.OFFICE, False), (Role.TECHNICIAN, False)])
def test_only_the_owner_allows(role: Role, may: bool) -> None:
    assert (may_allow_instrument(role) is None) == may
