"""What may be claimed for late payment, worked out over part payments. The law: Late Payment of Commercial Debts
(Interest) Act 1998, as GOV.UK explains it; published sums are checked in the money cases."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.customers import CustomerKind
from app.rules.late_payments import list_interest_spans, may_claim_late_payment, number_late_claim, total_late_claim
from app.rules.money import total_half_up

DUE = date(2026, 1, 1)


def after(days: int) -> date:
    return DUE + timedelta(days=days)


def test_a_published_claim_comes_out_whole() -> None:
    # Government announcement of 2026: £10,000, 60 days, 11.75 %, with the fixed sum 10,293.15 in all.
    claim = total_late_claim(Decimal(10_000), [], DUE, after(60), Decimal("3.75"))
    assert (claim.interest, claim.fixed_sum) == (Decimal("193.15"), Decimal("100.00"))
    assert Decimal(10_000) + claim.total == Decimal("10293.15")
    assert (claim.rate, claim.rate_day) == (Decimal("11.75"), date(2025, 12, 31))
    assert [(span.starts_on, span.ends_on, span.days) for span in claim.spans] == [(after(1), after(60), 60)]


def test_a_part_payment_lowers_the_interest_from_the_next_day() -> None:
    claim = total_late_claim(Decimal(1000), [(after(10), Decimal(400))], DUE, after(40), Decimal(2))
    assert [(span.days, span.debt) for span in claim.spans] == [(10, Decimal(1000)), (30, Decimal(600))]
    # 10 % a year: 1,000 for 10 days is 2.7397..., 600 for 30 days 4.9315...: together 7.67, rounded once.
    assert claim.interest == Decimal("7.67")
    assert claim.fixed_sum == Decimal("70.00"), "1,000 was owed on the first late day"


def test_what_was_paid_in_time_counts_from_the_start() -> None:
    claim = total_late_claim(Decimal(1000), [(DUE, Decimal("0.01"))], DUE, after(5), Decimal(2))
    assert claim.fixed_sum == Decimal("40.00")
    assert claim.spans[0].debt == Decimal("999.99")


def test_interest_ends_with_the_debt() -> None:
    claim = total_late_claim(Decimal(500), [(after(7), Decimal(500))], DUE, after(90), Decimal(2))
    assert [span.days for span in claim.spans] == [7]
    assert total_late_claim(Decimal(500), [(DUE, Decimal(500))], DUE, after(90), Decimal(2)).total == 0


def test_a_second_claim_goes_on_where_the_first_ended() -> None:
    first = total_late_claim(Decimal(1000), [], DUE, after(30), Decimal(2))
    second = total_late_claim(Decimal(1000), [], DUE, after(70), Decimal(2), since=after(30), with_fixed_sum=False)
    assert (second.spans[0].starts_on, second.fixed_sum) == (after(31), Decimal(0))
    assert sum(span.days for span in (*first.spans, *second.spans)) == 70


@given(
    st.decimals("0.01", "50000", places=2),
    st.lists(st.tuples(st.integers(-20, 200), st.decimals("0.01", "9000", places=2)), max_size=5),
    st.integers(1, 200),
)
def test_every_late_day_counts_once_at_what_was_owed_on_it(
    debt: Decimal, paid: list[tuple[int, Decimal]], days: int
) -> None:
    settled = [(after(day), amount) for day, amount in paid]
    spans = list_interest_spans(debt, settled, DUE, after(days))
    owed = {}
    for day in range(1, days + 1):
        left = debt - sum((amount for when, amount in settled if when < after(day)), Decimal(0))
        if left > 0:
            owed[after(day)] = left
    told = {span.starts_on + timedelta(days=place): span.debt for span in spans for place in range(span.days)}
    assert told == owed
    exact = sum((left * 10 for left in owed.values()), Decimal(0)) / 100 / 365
    claimed = total_late_claim(debt, settled, DUE, after(days), Decimal(2)).interest
    assert abs(claimed - total_half_up(exact)) <= Decimal("0.01")  # the check's own division is not exact


@pytest.mark.parametrize(
    ("kind", "until", "said"),
    [
        (CustomerKind.BUSINESS, after(1), None),
        (CustomerKind.PUBLIC_AUTHORITY, after(1), None),
        (CustomerKind.BUSINESS, DUE, "not late yet"),
        (CustomerKind.CONSUMER, after(400), "private person"),
    ],
)
def test_whom_the_act_covers(kind: CustomerKind, until: date, said: str | None) -> None:
    why = may_claim_late_payment(kind, DUE, until)
    assert why is None if said is None else said in str(why)


def test_claims_have_a_series() -> None:
    assert number_late_claim(7) == "LP-000007"
    with pytest.raises(ValueError, match="starts at 1"):
        number_late_claim(0)
