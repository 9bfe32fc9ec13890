"""Statements of account and ageing: what holds of any account. Ages by the day an invoice was due: common practice."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.statements import AccountEntry, Age, Debt, Movement, judge_age, total_ageing, total_statement

DAY = date(2026, 3, 4)
DAYS = st.integers(0, 300).map(lambda days: DAY + timedelta(days=days))


@pytest.mark.parametrize(
    ("late", "age"),
    [(-30, Age.NOT_DUE), (0, Age.NOT_DUE), (1, Age.UP_TO_30), (30, Age.UP_TO_30), (31, Age.UP_TO_60),
     (60, Age.UP_TO_60), (61, Age.UP_TO_90), (90, Age.UP_TO_90), (91, Age.OLDER), (4000, Age.OLDER)],
)  # fmt: skip
def test_the_age_of_what_is_owed(late: int, age: Age) -> None:
    assert judge_age(DAY, DAY + timedelta(days=late)) == age


@st.composite
def accounts(draw: st.DrawFn) -> tuple[list[AccountEntry], list[Debt]]:
    """An account as the store would tell it: invoices, each with credits up to its amount, and payments shared to them
    with a rest that is held."""
    entries: list[AccountEntry] = []
    debts = []
    for place in range(draw(st.integers(0, 5))):
        issued, gross = draw(DAYS), draw(st.integers(1, 100_000))
        number = f"INV-{place + 1:06d}"
        due = issued + timedelta(days=draw(st.integers(0, 60)))
        entries.append(AccountEntry(issued, Movement.INVOICE, gross, number, due_on=due))
        left, settled = gross, []
        for _ in range(draw(st.integers(0, 3))):
            if not left:
                break
            day, pence = issued + timedelta(days=draw(st.integers(0, 120))), draw(st.integers(1, left))
            rest = draw(st.integers(0, 5000)) if draw(st.booleans()) else 0
            movement = draw(st.sampled_from([Movement.CREDIT_NOTE, Movement.PAYMENT]))
            held = rest if movement == Movement.PAYMENT else 0
            entries.append(AccountEntry(day, movement, pence + held))
            settled.append((day, pence))
            left -= pence
        debts.append(Debt(number, issued, due, ((issued, gross),), tuple(settled)))
    return entries, debts


@given(accounts(), DAYS)
def test_the_ages_sum_to_what_is_owed_and_with_what_is_held_to_the_balance(
    account: tuple[list[AccountEntry], list[Debt]], day: date
) -> None:
    entries, debts = account
    ageing = total_ageing(entries, debts, day)
    owed = sum(max(debt.owed_on(day), 0) for debt in debts if debt.issued_on <= day)
    signs = {Movement.INVOICE: 1, Movement.CREDIT_NOTE: -1, Movement.PAYMENT: -1}
    assert ageing.owed_pence == sum(ageing.by_age.values()) == owed
    assert ageing.balance_pence == sum(signs[each.movement] * each.pence for each in entries if each.day <= day)
    assert ageing.held_pence >= 0
    late = sum(debt.owed_on(day) for debt in debts if debt.issued_on <= day and debt.due_on < day)
    assert ageing.overdue_pence == late


@given(accounts(), DAYS, st.integers(0, 200))
def test_a_statement_runs_from_its_opening_to_its_closing(
    account: tuple[list[AccountEntry], list[Debt]], starts_on: date, length: int
) -> None:
    entries, debts = account
    ends_on = starts_on + timedelta(days=length)
    told = total_statement(entries, debts, starts_on, ends_on)
    assert told.closing_pence == told.opening_pence + sum(line.entry.signed_pence for line in told.lines)
    assert told.closing_pence == told.ageing.balance_pence
    before = total_statement(entries, debts, starts_on - timedelta(days=1000), starts_on - timedelta(days=1))
    assert before.closing_pence == told.opening_pence, "one statement begins where the last one ended"
    assert [line.entry.day for line in told.lines] == sorted(line.entry.day for line in told.lines)
    assert sum(owed for _, _, owed in told.open_invoices) == told.ageing.owed_pence


def test_a_small_statement_by_hand() -> None:
    entries = [
        AccountEntry(date(2026, 1, 5), Movement.INVOICE, 12000, "INV-000001", due_on=date(2026, 2, 4)),
        AccountEntry(date(2026, 1, 20), Movement.PAYMENT, 15000, "BACS"),
        AccountEntry(date(2026, 2, 2), Movement.REFUND, 1000),
        AccountEntry(date(2026, 2, 10), Movement.INVOICE, 6000, "INV-000002", due_on=date(2026, 3, 12)),
        AccountEntry(date(2026, 2, 11), Movement.CREDIT_NOTE, 1200, "CN-000001"),
    ]
    first, paid, second, credited = (date(2026, *day) for day in ((1, 5), (1, 20), (2, 10), (2, 11)))
    debts = [
        Debt("INV-000001", first, date(2026, 2, 4), ((first, 12000),), ((paid, 12000),)),
        Debt("INV-000002", second, date(2026, 3, 12), ((second, 6000),), ((credited, 1200),)),
    ]
    told = total_statement(entries, debts, date(2026, 2, 1), date(2026, 2, 28))
    assert (told.opening_pence, told.closing_pence) == (-3000, 2800)
    assert [line.balance_pence for line in told.lines] == [-2000, 4000, 2800]
    assert (told.ageing.by_age[Age.NOT_DUE], told.ageing.held_pence) == (4800, 2000)
