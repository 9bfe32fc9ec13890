"""How an instrument stands on a day, from its calibrations and its reference checks: what stops its use, what is
overdue, and which records are in doubt. That a failed reference check counts like no calibration is our own rule.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby


@dataclass(frozen=True)
class Proof:
    """One calibration (reference empty), or one check against the reference item of that name."""

    on: date
    passed: bool
    reference: str = ""


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


@dataclass(frozen=True)
class Doubt:
    """A span of days whose records are in doubt, both days included, and what failed. since None: from the first
    record on.
    """

    since: date | None
    until: date
    reference: str = ""

    @property
    def cause(self) -> str:
        return f"check against {self.reference}" if self.reference else "calibration"


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


def list_doubts(proofs: Sequence[Proof]) -> tuple[Doubt, ...]:
    """List the spans of days whose records are in doubt, the newest failure first.

    proofs are in order of time within one day. A failed calibration casts doubt back to the last good calibration,
    for a check proves only one value; a failed check back to the last good check against the same item or the last
    good calibration. A calibration counts before the checks of its own day, whose hour is not known.
    """
    ordered = sorted(proofs, key=lambda proof: (proof.on, proof.reference != ""))
    doubts = []
    for reference in dict.fromkeys(proof.reference for proof in ordered):
        # A failed calibration has its own span and says nothing about this item.
        own = [proof for proof in ordered if proof.reference == reference or (not proof.reference and proof.passed)]
        since: date | None = None
        for passed, run in groupby(own, key=lambda proof: proof.passed):
            last = list(run)[-1].on
            if passed:
                since = last
            else:
                doubts.append(Doubt(since, last, reference))
    return tuple(sorted(doubts, key=lambda doubt: doubt.until, reverse=True))


def _say(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
