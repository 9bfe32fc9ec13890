"""How long a share link lives, when it opens, and how guesses at one are slowed.

Practice: W3C TAG, Good Practices for Capability URLs.
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from enum import StrEnum

#: 32 bytes of the system's own randomness; the W3C note asks for at least 120 bits.
TOKEN_BYTES = 32
DAYS_USUAL = 90
DAYS_MOST = 365
#: Ours: a person mistypes a few times, a machine thousands of times.
TRIES_MOST = 30
TRIES_WINDOW = timedelta(minutes=1)


class LinkState(StrEnum):
    OPEN = "open"
    EXPIRED = "expired"
    WITHDRAWN = "withdrawn"


def next_expiry(made_on: date, days: int = DAYS_USUAL) -> date:
    """The last day on which a link opens. Raises ValueError for fewer than 1 or more than 365 days."""
    if not 1 <= days <= DAYS_MOST:
        raise ValueError(f"A link can live from 1 to {DAYS_MOST} days.")
    return made_on + timedelta(days=days)


def may_open(expires_on: date, withdrawn_at: datetime | None, today: date) -> bool:
    """Whether a link still opens; its last day is included."""
    return judge_link(expires_on, withdrawn_at, today) == LinkState.OPEN


def judge_link(expires_on: date, withdrawn_at: datetime | None, today: date) -> LinkState:
    """Say where a link stands today. One that is withdrawn stays so, whatever its last day is."""
    if withdrawn_at is not None:
        return LinkState.WITHDRAWN
    return LinkState.OPEN if today <= expires_on else LinkState.EXPIRED


def may_try(failed_at: Sequence[datetime], now: datetime) -> bool:
    """Whether an address may be tried once more, given the moments of earlier failures from the same network."""
    return sum(now - moment < TRIES_WINDOW for moment in failed_at) < TRIES_MOST
