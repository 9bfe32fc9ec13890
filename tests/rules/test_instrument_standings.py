"""What stops the use of an instrument, what only warns, which records are in doubt, and who may allow what.

That a failed reference check counts like no calibration is our own rule; no source.
"""

from datetime import date

import pytest

from app.rules.instrument_allowances import (
    Allowance,
    describe_allowance,
    may_allow_instrument,
    may_use_instrument,
)
from app.rules.instrument_standings import Doubt, Proof, Standing, list_doubts, list_overdue_checks, list_worries
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


def test_doubts_reach_back_to_the_last_good_proof() -> None:
    good, check = Proof(on(1), True), Proof(on(2), True, "1 Ω")
    bad = Proof(on(3), False, "1 Ω")
    assert list_doubts([good, check]) == ()
    assert list_doubts([good, check, bad]) == (Doubt(on(2), on(3), "1 Ω"),)
    assert list_doubts([good, bad]) == (Doubt(on(1), on(3), "1 Ω"),), "a calibration is a good proof for a check"
    assert list_doubts([bad]) == (Doubt(None, on(3), "1 Ω"),)
    laboratory = Proof(on(4), False)
    assert list_doubts([good, check, laboratory]) == (Doubt(on(1), on(4)),), "a check proves one value only"
    other = Proof(on(2, 20), True, "1 MΩ")
    assert list_doubts([good, check, other, bad]) == (Doubt(on(2), on(3), "1 Ω"),), "nor does another item"


def test_failures_in_a_row_are_one_doubt_and_later_ones_another() -> None:
    proofs = [
        Proof(on(1), True, "a"),
        Proof(on(2), False, "a"),
        Proof(on(2), False, "a"),
        Proof(on(3), True, "a"),
        Proof(on(4), False, "a"),
    ]
    assert list_doubts(proofs) == (Doubt(on(3), on(4), "a"), Doubt(on(1), on(2), "a"))


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


@pytest.mark.parametrize(("role", "may"), [(Role.OWNER, True), (Role.OFFICE, False), (Role.TECHNICIAN, False)])
def test_only_the_owner_allows(role: Role, may: bool) -> None:
    assert (may_allow_instrument(role) is None) == may
