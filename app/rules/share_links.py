"""How long a share link lives and when it opens. Practice: W3C TAG, Good Practices for Capability URLs."""

from datetime import date, datetime, timedelta

#: 32 bytes of the system's own randomness; the W3C note asks for at least 120 bits.
TOKEN_BYTES = 32
DAYS_USUAL = 90
DAYS_MOST = 365


def next_expiry(made_on: date, days: int = DAYS_USUAL) -> date:
    """The last day on which a link opens. Raises ValueError for fewer than 1 or more than 365 days."""
    if not 1 <= days <= DAYS_MOST:
        raise ValueError(f"A link can live from 1 to {DAYS_MOST} days.")
    return made_on + timedelta(days=days)


def may_open(expires_on: date, withdrawn_at: datetime | None, today: date) -> bool:
    """Whether a link still opens; its last day is included."""
    return withdrawn_at is None and today <= expires_on
