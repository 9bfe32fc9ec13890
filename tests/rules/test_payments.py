"""Sharing money among invoices. Common practice, no source."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from app.rules.payments import (
    OpenInvoice,
    PaymentDetails,
    check_payment,
    check_shares,
    next_shares_after,
    suggest_shares,
)

DAY = date(2026, 3, 4)
INVOICES = st.lists(st.tuples(st.integers(1, 500_000), st.integers(0, 400)), max_size=8).map(
    lambda told: [
        OpenInvoice(place, f"INV-{place:06d}", 1, "Saltgate Brewery", owed, DAY + timedelta(days=due))
        for place, (owed, due) in enumerate(told, 1)
    ]
)


@given(INVOICES, st.integers(0, 3_000_000))
def test_the_oldest_is_paid_first_and_no_penny_is_lost_or_made(invoices: list[OpenInvoice], pence: int) -> None:
    shares = suggest_shares(invoices, pence)
    together = sum(share for _, share in shares)
    assert together == min(pence, sum(each.owed_pence for each in invoices))
    assert all(0 < share <= invoice.owed_pence for invoice, share in shares)
    assert [invoice.due_on for invoice, _ in shares] == sorted(invoice.due_on for invoice, _ in shares)
    assert all(share == invoice.owed_pence for invoice, share in shares[:-1]), "only the last is paid in part"
    assert check_shares(shares, pence) == {}


@given(st.lists(st.integers(1, 100_000), max_size=8), st.integers(-5, 400_000))
def test_shares_give_way_from_the_latest(shares: list[int], most: int) -> None:
    kept = next_shares_after(shares, most)
    assert len(kept) == len(shares)
    assert sum(kept) == min(sum(shares), max(most, 0))
    assert all(0 <= now <= before for now, before in zip(kept, shares, strict=True))
    cut = [now < before for now, before in zip(kept, shares, strict=True)]
    assert cut == sorted(cut), "once one gives way, so do all after it"


def test_what_is_wrong_with_a_payment() -> None:
    assert check_payment(PaymentDetails(DAY, 1), DAY) == {}
    assert set(check_payment(PaymentDetails(DAY + timedelta(days=1), 0), DAY)) == {"amount", "paid_on"}
