"""Interest and the fixed sum that a business may claim for late payment, under the Late Payment of Commercial Debts
(Interest) Act 1998.

Simple interest at 8 % over the Bank of England's base rate, by the day, rounded once at the end; the base rate is the
one in force on the last 30 June or 31 December before the interest starts (SI 2002/1675, article 4), which is the day
after it was due. Fixed sums as published on GOV.UK. Nothing here is ever charged without a person's word.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from app.rules.certificates import CustomerFacts
from app.rules.customers import CustomerKind
from app.rules.firms import CLAIM_PREFIX
from app.rules.letterheads import FirmFacts
from app.rules.money import ZERO, total_half_up

STATUTORY_POINTS = Decimal(8)
_BANDS = ((Decimal(1000), Decimal("40.00")), (Decimal(10_000), Decimal("70.00")))
_TOP_SUM = Decimal("100.00")


def number_rate_day(starts_on: date) -> date:
    """Give the day whose base rate holds for interest that starts to run on starts_on."""
    return date(starts_on.year, 6, 30) if starts_on.month > 6 else date(starts_on.year - 1, 12, 31)


def total_interest(debt: Decimal, base_rate: Decimal, days: int) -> Decimal:
    """Work out the interest in pounds: debt × (8 + base rate in per cent) ÷ 100 × days ÷ 365."""
    if days < 0:
        raise ValueError("Interest does not run backwards.")
    rate = Fraction(STATUTORY_POINTS) + Fraction(base_rate)
    return total_half_up(Fraction(debt) * rate / 100 * days / 365)


def total_fixed_sum(debt: Decimal) -> Decimal:
    """Give the fixed sum in pounds: 40 for a debt under 1,000, 70 under 10,000, else 100."""
    if debt <= 0:
        raise ValueError("There is no debt.")
    return next((fixed for below, fixed in _BANDS if debt < below), _TOP_SUM)


@dataclass(frozen=True)
class InterestSpan:
    """A run of days on which the debt stood still. Both days are counted."""

    starts_on: date
    ends_on: date
    debt: Decimal

    @property
    def days(self) -> int:
        return (self.ends_on - self.starts_on).days + 1


@dataclass(frozen=True)
class LateClaim:
    """What may be claimed for one invoice, in pounds. fixed_sum is 0 where it is not claimed."""

    due_on: date
    until: date
    rate_day: date
    base_rate: Decimal
    spans: tuple[InterestSpan, ...]
    interest: Decimal
    fixed_sum: Decimal

    @property
    def rate(self) -> Decimal:
        return STATUTORY_POINTS + self.base_rate

    @property
    def total(self) -> Decimal:
        return self.interest + self.fixed_sum


@dataclass(frozen=True)
class LateClaimFacts:
    """Everything a claim says. source: where the firm read the base rate; rate_from: since when it was in force."""

    number: str
    firm: FirmFacts
    customer: CustomerFacts
    issued_on: date
    invoice_number: str
    invoice_issued_on: date
    claim: LateClaim
    rate_from: date
    source: str


def may_claim_late_payment(kind: CustomerKind, due_on: date, until: date) -> str | None:
    """Say why nothing may be claimed under the Act, or nothing."""
    if kind == CustomerKind.CONSUMER:
        return (
            "The Act covers debts between businesses and with public authorities. From a private person nothing can be "
            "claimed under it; what an agreement says about interest is for a solicitor to read."
        )
    if until <= due_on:
        return "This invoice is not late yet."
    return None


def list_interest_spans(
    debt: Decimal, settled: Sequence[tuple[date, Decimal]], due_on: date, until: date, since: date | None = None
) -> tuple[InterestSpan, ...]:
    """List the runs of late days with what was owed on them, from the day after it was due up to and with until.

    settled: payments by day; the day of a payment still counts on what was owed before it. since: the last day that an
    earlier claim covers.
    """
    start = max(due_on, since or due_on) + timedelta(days=1)
    changes = sorted({day for day, _ in settled if start <= day < until} | {until})
    spans = []
    for day in changes:
        owed = debt - sum((amount for when, amount in settled if when < start), ZERO)
        if owed > 0 and day >= start:
            spans.append(InterestSpan(start, day, owed))
        start = day + timedelta(days=1)
    return tuple(spans)


def total_late_claim(
    debt: Decimal,
    settled: Sequence[tuple[date, Decimal]],
    due_on: date,
    until: date,
    base_rate: Decimal,
    since: date | None = None,
    with_fixed_sum: bool = True,
) -> LateClaim:
    """Work out interest and fixed sum. debt: the invoice with VAT, less its credit notes, which count from the start.

    Interest is added up exactly and rounded once at the end. The fixed sum goes by what was owed on the first late day
    and is claimed once, so without it where an earlier claim has it. since: the last day of an earlier claim.
    """
    spans = list_interest_spans(debt, settled, due_on, until, since)
    rate = (Fraction(STATUTORY_POINTS) + Fraction(base_rate)) / 100
    exact = sum((Fraction(span.debt) * rate * span.days / 365 for span in spans), Fraction(0))
    first = debt - sum((amount for when, amount in settled if when <= due_on), ZERO)
    fixed = total_fixed_sum(first) if with_fixed_sum and first > 0 and until > due_on else ZERO
    rate_day = number_rate_day(due_on + timedelta(days=1))
    return LateClaim(due_on, until, rate_day, base_rate, spans, total_half_up(exact), fixed)


def number_late_claim(sequence: int) -> str:
    """Number of the sequence-th claim of its series: LP-000123."""
    if sequence < 1:
        raise ValueError("A series starts at 1.")
    return f"{CLAIM_PREFIX}-{sequence:06d}"
