"""How an instrument stands on a day, from its calibrations and its reference checks: what stops its use, and what is
overdue. That a failed reference check counts like no calibration is our own rule.
"""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Standing:
    """How an instrument stands.

    good_until is the last good day of the newest calibration, None where there is none or the newest failed; then
    failed_on is its day. failed_checks are the reference items whose newest check failed, with its day and no good
    calibration after it. checks_until are the reference items in use, each with the last day for which its
    newest check counts, None before the first one.
    """

    instrument_id: int
    name: str
    good_until: date | None = None
    failed_on: date | None = None
    failed_checks: tuple[tuple[str, date], ...] = ()
    checks_until: tuple[tuple[str, date | None], ...] = ()


def list_worries(standing: Standing, on: date) -> tuple[str, ...]:
    """List what stops the use of an instrument on a day, in sentences that stay the same from day to day."""
    name, until = standing.name, standing.good_until
    worries = []
    if standing.failed_on is not None:
        worries.append(f"{name} failed its calibration of {_say(standing.failed_on)}.")
    elif until is None:
        worries.append(f"{name} has no calibration on record.")
    elif until < on:
        worries.append(f"The calibration of {name} holds until {_say(until)} only.")
    for reference, day in standing.failed_checks:
        worries.append(f"{name} failed its check against {reference} on {_say(day)}.")
    return tuple(worries)


def list_overdue_checks(standing: Standing, on: date) -> tuple[str, ...]:
    """List the reference checks that are due on a day or before it. They warn and stop nothing."""
    due = []
    for reference, until in standing.checks_until:
        if until is None:
            due.append(f"{standing.name} has not been checked against {reference} yet.")
        elif until < on:
            due.append(f"The last check of {standing.name} against {reference} counts until {_say(until)} only.")
    return tuple(due)


def _say(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
