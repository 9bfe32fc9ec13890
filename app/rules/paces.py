"""How long a visit takes: minutes an item by kind, from the firm's own past, else from a starting value of ours.

A step is the time from one item's saving to the next one's, by the same person at the same visit. Its middle value
counts, so that a few strange ones do not; a step so long that somebody was at lunch, and one so short that entries came
in together, say nothing about the work.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from enum import StrEnum

from app.rules.equipment import Kind
from app.rules.quantities import number_rounded

#: Fewer steps than this say too little about the pace. Ours.
STEPS_LEAST = 20
#: A longer step is a pause, a shorter one several entries sent together (seconds; ours).
PAUSE_SECONDS, TOGETHER_SECONDS = 25 * 60, 15
#: Finding somebody, unpacking, and the talk at the end (minutes a visit; common practice, no source).
AROUND_MINUTES = 15
#: An estimate is given in steps of this many minutes, upwards.
ROUNDED_TO = 5
#: Minutes an item until the firm's own past says more (common practice, no source).
STARTING_MINUTES = {
    Kind.APPLIANCE: Decimal(5),
    Kind.EXTENSION_LEAD: Decimal(4),
    Kind.MULTIWAY_LEAD: Decimal(4),
    Kind.DETACHABLE_CORD: Decimal(3),
    Kind.RCD_LEAD: Decimal(6),
    Kind.PORTABLE_RCD: Decimal(5),
    Kind.MICROWAVE_OVEN: Decimal(8),
    Kind.CHARGER: Decimal(3),
    Kind.POWER_SUPPLY: Decimal(4),
    Kind.THREE_PHASE_LEAD: Decimal(8),
}
#: What a visit is held for at the least and at the most (minutes); a long one on several days.
MINUTES_LEAST, MINUTES_MOST = 5, 200 * 60


class Basis(StrEnum):
    """What a pace rests on."""

    KIND = "kind"
    ALL_KINDS = "all-kinds"
    STARTING_VALUE = "starting-value"

    @property
    def word(self) -> str:
        return {
            "kind": "own past",
            "all-kinds": "own past, all kinds together",
            "starting-value": "starting value of ours, no source",
        }[self.value]


@dataclass(frozen=True)
class Pace:
    """Minutes an item of one kind: the middle, and between which the middle half lies. steps: how many it rests on."""

    kind: Kind
    minutes: Decimal
    quarter: Decimal
    three_quarters: Decimal
    steps: int
    basis: Basis


@dataclass(frozen=True)
class Estimate:
    """How long a visit takes, in whole minutes; least and most from the middle half of the paces."""

    minutes: int
    least: int
    most: int
    items: int
    steps: int
    sentence: str


Paces = Mapping[Kind, Pace]


def list_paces(steps: Sequence[tuple[Kind, int]]) -> dict[Kind, Pace]:
    """Work out the pace of every kind from steps: (kind of the item that was saved, seconds since the one before)."""
    kept = [(kind, Decimal(seconds) / 60) for kind, seconds in steps if TOGETHER_SECONDS <= seconds <= PAUSE_SECONDS]
    everything = sorted(minutes for _, minutes in kept)
    found = {}
    for kind in Kind:
        own = sorted(minutes for each, minutes in kept if each == kind)
        if len(own) >= STEPS_LEAST:
            found[kind] = _pace(kind, own, Basis.KIND)
        elif len(everything) >= STEPS_LEAST:
            found[kind] = _pace(kind, everything, Basis.ALL_KINDS)
        else:
            start = STARTING_MINUTES[kind]
            found[kind] = Pace(kind, start, start / 2, start * 2, 0, Basis.STARTING_VALUE)
    return found


def total_estimate(counts: Mapping[Kind, int], paces: Paces) -> Estimate:
    """Estimate a visit from how many items of each kind it has; the time around it is in, travel is not."""
    used = {kind: count for kind, count in counts.items() if count}
    items = sum(used.values())
    least, middle, most = (
        _rounded(AROUND_MINUTES + sum((getattr(paces[kind], name) * count for kind, count in used.items()), Decimal(0)))
        for name in ("quarter", "minutes", "three_quarters")
    )
    bases = {paces[kind].basis for kind in used}
    steps = sum(paces[kind].steps for kind in used if paces[kind].basis == Basis.KIND)
    if Basis.ALL_KINDS in bases:
        steps = max(steps, *(paces[kind].steps for kind in used if paces[kind].basis == Basis.ALL_KINDS))
    return Estimate(middle, least, most, items, steps, _sentence(items, bases, steps))


def describe_duration(minutes: int) -> str:
    """Write 2 h 35 min."""
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def check_minutes(minutes: int | None) -> str:
    """Say what is wrong with a length that somebody typed, or nothing."""
    if minutes is None or MINUTES_LEAST <= minutes <= MINUTES_MOST:
        return ""
    return f"Give the length of the visit in minutes, from {MINUTES_LEAST} to {MINUTES_MOST}."


def _pace(kind: Kind, minutes: Sequence[Decimal], basis: Basis) -> Pace:
    quarter, middle, three = (number_rounded(minutes[len(minutes) * part // 4], 1) for part in (1, 2, 3))
    return Pace(kind, middle, quarter, three, len(minutes), basis)


def _rounded(minutes: Decimal) -> int:
    return int((minutes / ROUNDED_TO).to_integral_value(ROUND_CEILING)) * ROUNDED_TO


def _sentence(items: int, bases: set[Basis], steps: int) -> str:
    around = f"{AROUND_MINUTES} minutes around it, no travel"
    if not items:
        return f"No items are on the register, so only {around}."
    if bases == {Basis.STARTING_VALUE}:
        return f"From our starting values, as fewer than {STEPS_LEAST} items say how long the firm takes; {around}."
    starting = " and, for some kinds, our starting values" if Basis.STARTING_VALUE in bases else ""
    return f"From the firm’s own pace over {steps:,} items{starting}, pauses left out; {around}."
