"""Which records are in doubt when an instrument fails: from the last good proof to the next good one of its kind.

That a failed reference check casts doubt like a failed calibration is our own rule. What is done about it is the idea
of ISO/IEC 17025:2017, 7.10, on nonconforming work (from memory): it is evaluated, decided, and the decision is kept.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from app.rules.checks import Check


@dataclass(frozen=True)
class Proof:
    """One calibration (reference empty), or one check against the reference item of that name.

    key names the record that says so, such as "calibration-7"; check is the function of the reference item.
    """

    on: date
    passed: bool
    reference: str = ""
    key: str = ""
    check: Check | None = None


@dataclass(frozen=True)
class Doubt:
    """A span of days whose records are in doubt, both days included, and what failed.

    since None: from the first record on; until None: no good proof has followed, so it is still in doubt. failed_on is
    the day of the first failure, failures are the keys of all of them.
    """

    since: date | None
    until: date | None
    failed_on: date
    reference: str = ""
    failures: tuple[str, ...] = ()
    check: Check | None = None

    @property
    def key(self) -> str:
        return self.failures[0]

    @property
    def cause(self) -> str:
        return f"check against {self.reference}" if self.reference else "calibration"

    def holds(self, day: date) -> bool:
        """Whether what was measured on a day is in doubt."""
        return (self.since is None or self.since <= day) and (self.until is None or day <= self.until)


def list_doubts(proofs: Sequence[Proof]) -> tuple[Doubt, ...]:
    """List the spans of days whose records are in doubt, the newest failure first.

    proofs are in order of time within one day. A failed calibration casts doubt back to the last good calibration,
    for a check proves only one value; a failed check back to the last good check against the same item or the last
    good calibration. A doubt ends on the day before the next good proof: a good calibration ends every doubt, a good
    check only that of its own item. A calibration counts before the checks of its own day, whose hour is not known.
    """
    ordered = sorted(proofs, key=lambda proof: (proof.on, proof.reference != ""))
    doubts = []
    for reference in dict.fromkeys(proof.reference for proof in ordered):
        # A failed calibration has its own span and says nothing about this item.
        own = [proof for proof in ordered if proof.reference == reference or (not proof.reference and proof.passed)]
        since: date | None = None
        failed: list[Proof] = []
        for proof in own:
            if not proof.passed:
                failed.append(proof)
                continue
            if failed:
                doubts.append(_doubt(since, failed, proof.on))
            since, failed = proof.on, []
        if failed:
            doubts.append(_doubt(since, failed, None))
    return tuple(sorted(doubts, key=lambda doubt: doubt.failed_on, reverse=True))


def _doubt(since: date | None, failed: Sequence[Proof], good_on: date | None) -> Doubt:
    first, last = failed[0], failed[-1]
    until = None if good_on is None else max(last.on, good_on - timedelta(days=1))
    return Doubt(since, until, first.on, first.reference, tuple(each.key for each in failed), first.check)
