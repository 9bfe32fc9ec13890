"""Interest and the fixed sum that a business may claim for late payment, under the Late Payment of Commercial Debts
(Interest) Act 1998.

Simple interest at 8 % over the Bank of England's base rate, by the day, rounded once at the end; the base rate is the
one in force on the last 30 June or 31 December before the interest starts (SI 2002/1675, article 4). Fixed sums as
published on GOV.UK. Nothing here is ever charged without a person's word.
"""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from app.rules.money import total_half_up

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
