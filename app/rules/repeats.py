"""Repeat agreements: visits every so many months, made in advance, ended or changed from a day on."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from app.rules.intervals import next_due
from app.rules.paces import check_minutes

#: How far ahead visits are made (months; ours), and the longest interval of an agreement.
AHEAD_MONTHS, EVERY_MOST = 13, 60


class WantedState(StrEnum):
    WAITING = "waiting"
    BOOKED = "booked"
    DROPPED = "dropped"

    @property
    def word(self) -> str:
        return "to be booked" if self.value == "waiting" else self.value


@dataclass(frozen=True)
class Repeat:
    """What is agreed: the first visit, how often, until when, and who goes where that is agreed."""

    first_on: date
    every_months: int
    ends_on: date | None = None
    technician_id: int | None = None
    minutes: int | None = None
    note: str = ""


def list_repeat_days(repeat: Repeat, until: date) -> tuple[date, ...]:
    """List the days on which visits are wanted up to a last one, counted from the first, so that the 31st stays one."""
    last = until if repeat.ends_on is None else min(until, repeat.ends_on)
    days: list[date] = []
    while len(days) < 1200:
        day = next_due(repeat.first_on, repeat.every_months * len(days)) if days else repeat.first_on
        if day is None or day > last:
            break
        days.append(day)
    return tuple(days)


def check_repeat(repeat: Repeat) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = {}
    if not 1 <= repeat.every_months <= EVERY_MOST:
        mistakes["every_months"] = f"Give months from 1 to {EVERY_MOST}."
    if repeat.ends_on is not None and repeat.ends_on < repeat.first_on:
        mistakes["ends_on"] = "The last day comes after the first visit."
    if sentence := check_minutes(repeat.minutes):
        mistakes["minutes"] = sentence
    return mistakes
