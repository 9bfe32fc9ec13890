"""What a calendar is told of visits: no money, and to a customer nothing but when, where, and who comes."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from enum import StrEnum

from app.rules.bookings import MINUTES_UNKNOWN

TOKEN_BYTES = 32
#: How long what is over stays in a feed (days), and how often a calendar is asked to look again (hours). Ours.
PAST_DAYS, REFRESH_HOURS = 60, 1


class Method(StrEnum):
    """What a calendar object that is sent asks for (RFC 5546, 3.2)."""

    REQUEST = "REQUEST"
    CANCEL = "CANCEL"


@dataclass(frozen=True)
class CalendarVisit:
    """One visit for a calendar, or one of its days. starts None: the whole day, or all days up to until. changed_at:
    when what is shown here changed last.
    """

    uid: str
    sequence: int
    day: date
    starts: time | None
    minutes: int | None
    cancelled: bool
    title: str
    place: str
    description: str
    changed_at: datetime | None = None
    until: date | None = None

    @property
    def length(self) -> int:
        return self.minutes or MINUTES_UNKNOWN

    @property
    def stamp(self) -> datetime:
        """A moment that stays the same while the visit does."""
        return self.changed_at or datetime.combine(self.day, time(0), UTC)


@dataclass(frozen=True)
class Parties:
    """Who sends an invitation and who gets it."""

    firm: str
    firm_address: str
    customer: str
    customer_address: str


def describe_visit(technician: str, note: str, access: str, address: str, state: str) -> str:
    """Describe a visit for the people of the firm; address is that of its page."""
    lines = [f"Technician: {technician}", state.capitalize()]
    if access.strip():
        lines.append(f"Getting in: {access.strip()}")
    if note.strip():
        lines.append(f"Note: {note.strip()}")
    return "\n".join([*lines, address])
