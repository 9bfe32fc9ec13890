"""When people work and what they can test, when premises can be entered, and what is assumed where nothing is typed.

A week is seven spans of minutes after midnight, Monday first; None is a day without work.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from app.rules.bank_holidays import Region
from app.rules.travel import Pace, Point, check_point

Span = tuple[int, int]
Week = tuple[Span | None, ...]
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
#: The usual week where a firm has typed none: a plain assumption, no source.
USUAL_WEEK: Week = ((510, 1020),) * 5 + (None, None)
ANY_TIME: Week = ((0, 1440),) * 7


class Skill(StrEnum):
    """Work that not everybody at the firm does."""

    THREE_PHASE = "three-phase"
    MICROWAVE = "microwave"
    AFTER_REPAIR = "after-repair"

    @property
    def word(self) -> str:
        words = {"three-phase": "three-phase equipment", "microwave": "microwave ovens"}
        return words.get(self.value, "items after a repair")


@dataclass(frozen=True)
class WorkingTimes:
    """When somebody works and what they can test. week_hours_most: hours a week with travel, None for all of them."""

    week: Week = USUAL_WEEK
    skills: frozenset[Skill] = frozenset(Skill)
    week_hours_most: int | None = None
    instrument_id: int | None = None


@dataclass(frozen=True)
class DayOff:
    """Days on which a person does not work, both included; person_id None: the whole firm."""

    person_id: int | None
    first_on: date
    last_on: date
    reason: str = ""


@dataclass(frozen=True)
class AccessTimes:
    """When premises can be entered, where they are, and whose bank holidays close them; region None: as the firm."""

    week: Week | None = None
    point: Point | None = None
    region: Region | None = None


@dataclass(frozen=True)
class BookingRules:
    """What proposals rest on: where the firm is, how it gets about, its usual week and bank holidays, and how much of
    a working day is kept free, in percent, for breaks and for what runs late.
    """

    point: Point | None = None
    pace: Pace = Pace()
    region: Region = Region.ENGLAND_AND_WALES
    week: Week = USUAL_WEEK
    free_percent: int = 15


def parse_span(text: str) -> Span | None:
    """Read "08:30-17:00" as minutes after midnight; nothing for an empty text. Raises ValueError with a sentence."""
    if not (text := text.strip()):
        return None
    found = re.fullmatch(r"(\d{1,2})(?:[:.]?(\d{2}))?\s*(?:-|–|to)\s*(\d{1,2})(?:[:.]?(\d{2}))?", text)
    if found is None:
        raise ValueError("Give a beginning and an end, such as 8:30 to 17:00, or leave the day empty.")
    hours, minutes = (int(found[1]), int(found[3])), (int(found[2] or 0), int(found[4] or 0))
    begins, ends = hours[0] * 60 + minutes[0], hours[1] * 60 + minutes[1]
    if max(minutes) > 59 or not begins < ends <= 24 * 60:
        raise ValueError("The end comes after the beginning, within one day.")
    return begins, ends


def convert_week(kept: Mapping[str, str]) -> Week:
    """Turn spans as they are kept, by the number of the day, into a week."""
    return tuple(parse_span(kept.get(str(day), "")) for day in range(7))


def describe_week(week: Week) -> dict[str, str]:
    """Write a week down as it is kept, by the number of the day; a day without work is left out."""
    return {str(day): describe_span(span) for day, span in enumerate(week) if span is not None}


def describe_span(span: Span) -> str:
    """Write 08:30-17:00."""
    return f"{describe_clock(span[0])}-{describe_clock(span[1])}"


def describe_clock(minutes: int) -> str:
    """Write minutes after midnight as 08:30."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def check_booking_rules(rules: BookingRules) -> dict[str, str]:
    """What is wrong, by field name."""
    mistakes = check_point(rules.point.latitude, rules.point.longitude) if rules.point else {}
    if not Decimal(1) <= rules.pace.road_factor <= Decimal(5):
        mistakes["road_factor"] = "Roads are 1 to 5 times as long as the straight line."
    if not 5 <= rules.pace.speed_mph <= 70:
        mistakes["speed_mph"] = "Give a speed from 5 to 70 miles an hour."
    if not 0 <= rules.free_percent <= 80:
        mistakes["free_percent"] = "Give a share from 0 to 80 percent."
    if not any(rules.week):
        mistakes["day-0"] = "Give at least one day on which the firm works."
    return mistakes


def check_day_off(day: DayOff) -> dict[str, str]:
    """What is wrong, by field name."""
    if day.last_on < day.first_on:
        return {"last_on": "The last day comes after the first, or is the same."}
    if (day.last_on - day.first_on).days > 366:
        return {"last_on": "Give at most a year at once."}
    return {}


def list_off(
    days: Sequence[date], person_id: int, off: Sequence[DayOff], holidays: Mapping[date, str]
) -> dict[date, str]:
    """List on which of some days a person does not work, and why: bank holidays, days off of the firm and their own."""
    found = {day: holidays[day] for day in days if day in holidays}
    for each in off:
        if each.person_id in (None, person_id):
            found |= {day: each.reason or "day off" for day in days if each.first_on <= day <= each.last_on}
    return found
