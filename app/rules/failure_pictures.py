"""Pictures of failures: how often groups of items fail, with exact intervals, and whether that can tell them apart.

Intervals are those of Clopper and Pearson (1934). Where many groups are looked at, one always looks worst by chance; a
group is named only where its interval, made wider for the number of groups, lies beyond that of all others together.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from app.rules.failure_rates import number_failure_bounds
from app.rules.pictures import Picture, Row, list_words
from app.rules.quantities import number_rounded

CONFIDENCE = 0.95
ROWS_MOST = 12
HEAD = ("Failed", "Tested", "Rate", "95 % interval")
TOO_FEW = "too few to tell"


@dataclass(frozen=True)
class Share:
    """So many of so many, in percent, with the exact two-sided 95 % interval."""

    name: str
    failed: int
    tested: int
    percent: Decimal
    low: Decimal
    high: Decimal

    @property
    def counts(self) -> str:
        return f"{self.failed:,} of {self.tested:,}"

    @property
    def interval(self) -> str:
        return f"{self.low} % to {self.high} %"

    @property
    def told(self) -> str:
        return f"{self.counts}, {self.percent} % (95 % interval {self.interval})"


def number_share(name: str, failed: int, tested: int) -> Share:
    """Give the share with its interval, to a tenth of a percent. Raises ValueError for impossible counts."""
    low, high = number_failure_bounds(failed, tested)
    return Share(name, failed, tested, _percent(Decimal(failed) / tested), _percent(low), _percent(high))


def list_shares(groups: Iterable[tuple[str, int, int]]) -> tuple[Share, ...]:
    """List the share of each group (name, failed, tested) with anything tested, the highest first."""
    shares = [number_share(*group) for group in groups if group[2]]
    return tuple(sorted(shares, key=lambda share: (-share.percent, -share.tested, share.name)))


def list_outstanding_groups(shares: Sequence[Share]) -> tuple[Share, ...]:
    """List the groups that fail more often than all others together, beyond what chance does among so many groups."""
    found = []
    for share in shares:
        failed = sum(other.failed for other in shares) - share.failed
        tested = sum(other.tested for other in shares) - share.tested
        if not tested:
            continue
        confidence = 1 - (1 - CONFIDENCE) / len(shares)
        low, _ = number_failure_bounds(share.failed, share.tested, confidence)
        _, high = number_failure_bounds(failed, tested, confidence)
        if low > high:
            found.append(share)
    return tuple(found)


def describe_failures(shares: Sequence[Share]) -> str:
    """Say what the counts tell: which groups fail more often than the others, or that they are too few to tell."""
    if not shares:
        return "Nothing was tested in this time."
    whole = number_share("", sum(share.failed for share in shares), sum(share.tested for share in shares))
    if not whole.failed:
        return (
            f"None of {_items(whole.tested)} failed. Even so the true rate may be as high as {whole.high} % "
            "(end of the exact 95 % interval)."
        )
    told = f"{whole.failed:,} of {_items(whole.tested)} failed, {whole.percent} % (95 % interval {whole.interval})."
    if len(shares) == 1:
        return told
    if found := list_outstanding_groups(shares):
        rest = [share for share in shares if share not in found]
        others = ""
        if rest:
            failed, tested = sum(share.failed for share in rest), sum(share.tested for share in rest)
            others = f"; the others together {number_share('', failed, tested).told}"
        names = list_words([f"{share.name} with {share.told}" for share in found])
        return f"{told} More often than the others: {names}{others}."
    top = shares[0]
    return f"{told} These are {TOO_FEW} the groups apart; the highest is {top.name} with {top.told}."


def describe_causes(causes: Sequence[Share], failed: int) -> str:
    """Say which cause stands behind most failed items. An item may have failed for several causes."""
    if not failed or not causes:
        return "Nothing failed in this time, so there is no cause to show."
    top, *others = causes
    told = f"{top.name[:1].upper()}{top.name[1:]} stands behind {top.counts} failed items ({top.percent} %)"
    if not others:
        return f"{told}, and nothing else does."
    second = others[0]
    if top.low > second.high:
        return f"{told}, clearly more than {second.name} ({second.counts})."
    return f"{told}; whether that is more than {second.name} ({second.counts}), these are {TOO_FEW}."


def describe_change(years: Sequence[Share]) -> str:
    """Say whether the first and the last of several years differ beyond chance; the oldest comes first."""
    known = [year for year in years if year.tested]
    if not known:
        return "Nothing was tested in these years."
    last = known[-1]
    if len(known) == 1:
        return f"There is one year to show: {last.told} failed."
    first = known[0]
    told = f"{first.name}: {first.told} failed; {last.name}: {last.told}"
    if last.high < first.low:
        return f"{told}. That is fewer than before, by more than chance."
    if last.low > first.high:
        return f"{told}. That is more than before, by more than chance."
    return f"{told}. The intervals overlap: {TOO_FEW} whether anything has changed."


def describe_failures_picture(
    title: str, what: str, shares: Sequence[Share], sentence: str = "", note: str = ""
) -> Picture:
    """Make the picture of some groups. Beyond the first dozen the groups stand in the table alone."""
    drawn = shares[:ROWS_MOST]
    left_out = len(shares) - len(drawn)
    if left_out:
        note = f"The {len(drawn)} highest are drawn; {left_out:,} more stand in the table. {note}".strip()
    return Picture(
        title,
        sentence or describe_failures(shares),
        (what, *HEAD),
        tuple(
            (share.name, f"{share.failed:,}", f"{share.tested:,}", f"{share.percent} %", share.interval)
            for share in shares
        ),
        rows=tuple(Row(share.name, share.percent, share.low, share.high, share.counts) for share in drawn),
        unit=" %",
        note=note,
    )


def _items(number: int) -> str:
    return f"{number:,} item{'' if number == 1 else 's'}"


def _percent(fraction: float | Decimal) -> Decimal:
    return number_rounded(Decimal(fraction) * 100, 1)
