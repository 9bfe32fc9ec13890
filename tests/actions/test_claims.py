"""Claims for late payment: only on a person's word, by the rate of the right half year, withdrawn with a reason.

Late Payment of Commercial Debts (Interest) Act 1998; SI 2002/1675, article 4 for the half years.
"""

from datetime import date
from decimal import Decimal

import pytest

from app.actions import base_rates, customers, payments
from app.actions.claims import (
    claim_late_payment,
    finish_pending_claims,
    open_claim,
    preview_claim,
    withdraw_claim,
)
from app.actions.deeds import Desk
from app.rules.base_rates import BaseRateDetails
from app.rules.customers import CustomerDetails, CustomerKind
from app.rules.verdicts import Mistakes, Refused
from app.store.claims import get_claim
from app.store.invoices import get_invoice
from app.store.payments import count_held_pence
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.issued_invoices import begin_issued, issue
from tests.kept_rows import as_kept


@pytest.fixture
def late(desk: Desk, world: World, clock: Clock) -> int:
    """An invoice of 120.00 of 4 March 2026, due on 3 April, 60 days late; the base rate 3.75 % since December."""
    invoice_id = as_kept(desk, issue, world)
    clock.pass_time(days=90)
    with desk.doing(world.office) as deed:
        for day, percent in ((date(2025, 12, 18), "3.75"), (date(2026, 4, 30), "9")):
            base_rates.enter_base_rate(deed, BaseRateDetails(day, Decimal(percent), "The Bank's page"))
    return invoice_id


def test_interest_goes_by_the_rate_of_the_last_31_december(desk: Desk, world: World, late: int) -> None:
    with desk.reading_only() as session:
        told = preview_claim(session, get_invoice(session, late), desk.today)
        assert get_invoice(session, late).owed_pence == 12000, "looking charges nothing"
    assert told.claim is not None and told.paper is not None
    # 120.00 at 11.75 % for 60 days: 2.3178...; the fixed sum under 1,000 is 40.00.
    assert (told.claim.interest, told.claim.fixed_sum) == (Decimal("2.32"), Decimal("40.00"))
    assert (told.claim.rate_day, told.claim.rate) == (date(2025, 12, 31), Decimal("11.75"))
    claim_id = claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True, seen=told.claim.total)
    with desk.reading_only() as session:
        row = get_claim(session, claim_id)
        assert (row.number, row.state, row.total_pence) == ("LP-000001", "issued", 4232)
        assert get_invoice(session, late).owed_pence == 16232
        said = text_of(open_claim(desk, row))
    for words in ("Claim for late payment", "LP-000001", "For invoice INV-000001", "£120.00 × 11.75 % × 60 ÷ 365",
                  "31 December 2025, which was 3.75 %", "The Bank's page", "Total claimed £42.32"):  # fmt: skip
        assert words in said, words


def test_one_of_the_two_and_the_rest_later(desk: Desk, world: World, late: int, clock: Clock) -> None:
    first = claim_late_payment(desk, world.office, late, interest=False, fixed_sum=True)
    with pytest.raises(Mistakes, match="Choose what to claim"):
        claim_late_payment(desk, world.office, late, interest=False, fixed_sum=False)
    claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True)
    with pytest.raises(Refused, match="Nothing is left to claim"):
        claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True)
    clock.pass_time(days=30)
    third = claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True)
    with desk.reading_only() as session:
        told = [(row.interest_pence, row.fixed_pence) for row in get_invoice(session, late).claims]
        # 30 more days of 120.00 at 11.75 %: 1.1589...
        assert told == [(0, 4000), (232, 0), (116, 0)]
        assert get_claim(session, third).number == "LP-000003"
        assert get_claim(session, first).total_pence == 4000


def test_a_claim_is_withdrawn_with_a_reason_and_what_was_paid_on_it_is_held(
    desk: Desk, world: World, late: int
) -> None:
    claim_id = claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True)
    with desk.doing(world.office) as deed:
        payments.record_payment(deed, late, deed.today, 16232)
    with pytest.raises(Mistakes), desk.doing(world.office) as deed:
        withdraw_claim(deed, claim_id, " ")
    with desk.doing(world.office) as deed:
        withdraw_claim(deed, claim_id, "Agreed on the telephone")
    with pytest.raises(Refused, match="withdrawn already"), desk.doing(world.office) as deed:
        withdraw_claim(deed, claim_id, "Again")
    with desk.reading_only() as session:
        invoice = get_invoice(session, late)
        assert (invoice.claimed_pence, invoice.owed_pence) == (0, 0)
        assert count_held_pence(session, world.customer_id) == 4232
        assert get_claim(session, claim_id).number == "LP-000001", "it stays in its series"


def test_nothing_is_claimed_from_a_private_person(desk: Desk, world: World, late: int) -> None:
    with desk.doing(world.office) as deed:
        details = CustomerDetails("A. Householder", "1 High Street", kind=CustomerKind.CONSUMER)
        customers.change_customer(deed, world.customer_id, details)
    with pytest.raises(Refused, match="From a private person nothing can be claimed"):
        claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True)


def test_without_a_base_rate_it_is_asked_for(desk: Desk, world: World, clock: Clock) -> None:
    invoice_id = begin_issued(desk, world)
    with pytest.raises(Refused, match="not late yet"):
        claim_late_payment(desk, world.office, invoice_id, interest=True, fixed_sum=True)
    clock.pass_time(days=90)
    with desk.reading_only() as session:
        told = preview_claim(session, get_invoice(session, invoice_id), desk.today)
    assert (told.claim, told.rate_day) == (None, date(2025, 12, 31))
    assert "not entered yet" in told.why_not


def test_nothing_is_claimed_unseen(desk: Desk, world: World, late: int) -> None:
    with pytest.raises(Refused, match="has changed since"):
        claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True, seen=Decimal("1.00"))
    assert finish_pending_claims(desk) == 0


def test_base_rates_are_entered_once_a_day_with_their_source(desk: Desk, world: World, late: int) -> None:
    for day, percent, source, field in (
        (date(2025, 12, 18), "4", "x", "valid_from"),
        (date(2026, 1, 1), "26", "x", "percent"),
        (date(2026, 1, 1), "4", " ", "source"),
        (date(2030, 1, 1), "4", "x", "valid_from"),
    ):
        with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
            base_rates.enter_base_rate(deed, BaseRateDetails(day, Decimal(percent), source))
        assert set(wrong.value.messages) == {field}
    with desk.doing(world.office) as deed:
        base_rates.remove_base_rate(deed, 1)
    with pytest.raises(Refused, match="not entered yet"):
        claim_late_payment(desk, world.office, late, interest=True, fixed_sum=True)
