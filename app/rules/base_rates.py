"""The Bank of England's base rate as the firm enters it: from which day, how much, and where that was read."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

PERCENT_MOST = Decimal(25)


@dataclass(frozen=True)
class BaseRateDetails:
    """percent a year; source: where somebody read it, printed beside every sum that rests on it."""

    valid_from: date
    percent: Decimal
    source: str


def check_base_rate(details: BaseRateDetails, taken: Iterable[date], today: date) -> dict[str, str]:
    """What is wrong, by field name. taken: days that have a rate already."""
    mistakes = {}
    if not 0 <= details.percent <= PERCENT_MOST:
        mistakes["percent"] = f"Give a rate from 0 to {PERCENT_MOST} per cent."
    if not details.source.strip():
        mistakes["source"] = "Say where you read it, such as the page and the day."
    if details.valid_from in set(taken):
        mistakes["valid_from"] = "A rate from this day is entered already. Remove that one first."
    if details.valid_from > today:
        mistakes["valid_from"] = "This day has not come yet."
    return mistakes
