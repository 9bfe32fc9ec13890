"""Statements of account and ageing: what a customer owed on a day, from whole pence.

Ages count from the day an invoice was due. What is held for the customer is shown beside the ages and never hidden in
them: the ages together, less what is held, are the balance.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum


class Age(StrEnum):
    """How long something has been overdue."""

    NOT_DUE = "not due"
    UP_TO_30 = "1 to 30 days"
    UP_TO_60 = "31 to 60 days"
    UP_TO_90 = "61 to 90 days"
    OLDER = "over 90 days"


class Movement(StrEnum):
    """What changes an account."""

    INVOICE = "invoice"
    CREDIT_NOTE = "credit note"
    PAYMENT = "payment"
    REFUND = "refund"
    CLAIM = "late payment claim"
    CLAIM_WITHDRAWN = "claim withdrawn"


_RAISES = (Movement.INVOICE, Movement.REFUND, Movement.CLAIM)


@dataclass(frozen=True)
class AccountEntry:
    """One movement on an account. pence is above 0; the kind says which way. text: number, reference or method."""

    day: date
    movement: Movement
    pence: int
    text: str = ""
    href: str = ""
    due_on: date | None = None

    @property
    def signed_pence(self) -> int:
        return self.pence if self.movement in _RAISES else -self.pence


@dataclass(frozen=True)
class Debt:
    """An invoice as ageing sees it: what was to pay on it by dated changes. settled: (day, pence) of credits, payments
    and withdrawn claims; raised: (day, pence) of the invoice and its claims."""

    number: str
    issued_on: date
    due_on: date
    raised: tuple[tuple[date, int], ...]
    settled: tuple[tuple[date, int], ...] = ()

    def owed_on(self, day: date) -> int:
        raised = sum(pence for when, pence in self.raised if when <= day)
        return raised - sum(pence for when, pence in self.settled if when <= day)


@dataclass(frozen=True)
class Ageing:
    """What is owed by age, and what is held for the customer, in pence."""

    by_age: dict[Age, int]
    held_pence: int

    @property
    def owed_pence(self) -> int:
        return sum(self.by_age.values())

    @property
    def balance_pence(self) -> int:
        return self.owed_pence - self.held_pence

    @property
    def overdue_pence(self) -> int:
        return self.owed_pence - self.by_age[Age.NOT_DUE]


@dataclass(frozen=True)
class StatementLine:
    entry: AccountEntry
    balance_pence: int


@dataclass(frozen=True)
class Statement:
    """An account between two days, both included."""

    starts_on: date
    ends_on: date
    opening_pence: int
    lines: tuple[StatementLine, ...]
    ageing: Ageing
    open_invoices: tuple[tuple[str, date, int], ...] = field(default=())

    @property
    def closing_pence(self) -> int:
        return self.lines[-1].balance_pence if self.lines else self.opening_pence

    def total_pence(self, *movements: Movement) -> int:
        return sum(line.entry.pence for line in self.lines if line.entry.movement in movements)


def judge_age(due_on: date, day: date) -> Age:
    """Say how long an invoice has been overdue on a day; the day it is due is still in time."""
    late = (day - due_on).days
    for most, age in ((0, Age.NOT_DUE), (30, Age.UP_TO_30), (60, Age.UP_TO_60), (90, Age.UP_TO_90)):
        if late <= most:
            return age
    return Age.OLDER


def total_ageing(entries: Iterable[AccountEntry], debts: Iterable[Debt], day: date) -> Ageing:
    """Work out what an account owes on a day, by age; what no invoice takes is held for the customer."""
    by_age = dict.fromkeys(Age, 0)
    for debt in debts:
        owed = debt.owed_on(day) if debt.issued_on <= day else 0
        if owed > 0:
            by_age[judge_age(debt.due_on, day)] += owed
    balance = sum(entry.signed_pence for entry in entries if entry.day <= day)
    return Ageing(by_age, sum(by_age.values()) - balance)


def total_statement(
    entries: Sequence[AccountEntry], debts: Sequence[Debt], starts_on: date, ends_on: date
) -> Statement:
    """Work out the statement of an account. Movements of one day stand in the order given."""
    ordered = sorted(entries, key=lambda entry: entry.day)
    balance = opening = sum(entry.signed_pence for entry in ordered if entry.day < starts_on)
    lines = []
    for entry in ordered:
        if starts_on <= entry.day <= ends_on:
            balance += entry.signed_pence
            lines.append(StatementLine(entry, balance))
    still_open = [
        (debt.number, debt.due_on, debt.owed_on(ends_on))
        for debt in sorted(debts, key=lambda each: (each.due_on, each.number))
        if debt.issued_on <= ends_on and debt.owed_on(ends_on) > 0
    ]
    return Statement(
        starts_on, ends_on, opening, tuple(lines), total_ageing(entries, debts, ends_on), tuple(still_open)
    )
