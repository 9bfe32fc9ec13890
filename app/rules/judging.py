"""What a visit is judged by: the rulebook with the house limits over it, the decision rule, how sure the instrument is
of a reading, and how the items are worked. Fixed when the visit starts, so that one visit is judged by one measure.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypedDict

from app.rules.checks import Check, Step
from app.rules.decisions import RISK, DecisionRule
from app.rules.equipment import ItemFacts
from app.rules.locked_entries import list_locked_entries
from app.rules.quantities import Reading
from app.rules.readings import Decision, Entry, ItemVerdict, judge_item
from app.rules.rulebooks import Rulebook
from app.rules.sequences import describe_left_out, list_chosen_steps
from app.rules.uncertainties import MeasuringRange, number_reading_uncertainty


class Chosen(TypedDict):
    """Which sequence an item gets, as judge_item takes it."""

    own: tuple[Check, ...] | None
    again: tuple[Check, ...]
    after_repair: bool
    dielectric: bool


@dataclass(frozen=True)
class MeasuredBefore:
    """A reading on record that was measured with another instrument than the one in use now, and that one's ranges."""

    check: Check
    point: str
    multiple: Decimal | None
    phase_deg: int | None
    reading: Reading
    ranges: tuple[MeasuringRange, ...]

    def is_same(self, entry: Entry) -> bool:
        """Whether an entry is this reading, saved again as it was."""
        mine = (self.check, self.point, self.multiple, self.phase_deg, self.reading)
        return mine == (entry.check, entry.point, entry.multiple, entry.phase_deg, entry.reading)


@dataclass(frozen=True)
class Judging:
    """ranges are the instrument's own; a reading outside all of them is judged without a guard band. before are the
    readings on record that an earlier instrument measured: saved again as they were, they are as sure as that one is.

    own is the item's own sequence; again are the checks that it failed and has not passed since. after_repair: the
    whole sequence of the rulebook is worked instead of the own one, with the dielectric strength test where
    dielectric_by names a competent person. lead_ohms is the resistance of the test lead that is still to be
    subtracted, None where the instrument nulls it; both_ways asks for d.c. readings forward and reversed; conductor_c
    is the temperature of the cords in °C, None where the limits are those for 20 °C.
    """

    rulebook: Rulebook
    rule: DecisionRule = DecisionRule.SIMPLE
    ranges: tuple[MeasuringRange, ...] = ()
    before: tuple[MeasuredBefore, ...] = ()
    own: tuple[Check, ...] | None = None
    again: tuple[Check, ...] = ()
    after_repair: bool = False
    dielectric_by: str = ""
    lead_ohms: Decimal | None = None
    both_ways: bool = False
    conductor_c: Decimal | None = None

    @property
    def chosen(self) -> Chosen:
        dielectric = self.after_repair and bool(self.dielectric_by)
        return Chosen(
            own=None if self.after_repair else self.own,
            again=self.again,
            after_repair=self.after_repair,
            dielectric=dielectric,
        )

    @property
    def decision(self) -> Decision:
        return Decision(self.rule)


def list_measured(entries: Iterable[Entry], judging: Judging) -> list[Entry]:
    """Give the entries with the instrument's uncertainty of each reading, where the decision rule needs it, and with
    the name of the competent person where the test asks for one.
    """
    named = [_named(entry, judging) for entry in entries]
    if judging.rule is DecisionRule.SIMPLE:
        return named
    return [_measured(entry, judging) for entry in named]


def judge_visit_item(item: ItemFacts, entries: Iterable[Entry], judging: Judging) -> ItemVerdict:
    """Judge an item from everything entered for it at a visit."""
    measured = list_measured(entries, judging)
    return judge_item(item, measured, judging.rulebook, decision=judging.decision, **judging.chosen)


def list_shut_entries(item: ItemFacts, entries: Sequence[Entry], judging: Judging) -> tuple[tuple[Entry, str], ...]:
    """List the entries at a visit that an earlier failed or undecided check has locked, each with why."""
    return list_locked_entries(item, entries, judging.rulebook, judging.decision, **judging.chosen)


def list_steps(item: ItemFacts, judging: Judging) -> tuple[Step, ...]:
    """List the checks that an item gets at a visit: the rulebook's, the firm's own, or those after a repair."""
    return list_chosen_steps(item, judging.rulebook, **judging.chosen)


def describe_own_gap(item: ItemFacts, judging: Judging) -> str:
    """Say what the sequence that is worked leaves out although the rulebook asks for it; nothing where it is whole."""
    own = judging.chosen["own"]
    return describe_left_out(own, item, judging.rulebook) if own is not None else ""


def describe_decision_rule(judging: Judging) -> str:
    """Say in a sentence or two how a reading is compared with its limit (ILAC-G8:09/2019, 4.2, in our words)."""
    if judging.rule is DecisionRule.SIMPLE:
        return (
            "Each reading is compared directly with its limit (simple acceptance); a reading equal to the limit "
            "passes, and no allowance is made for measurement uncertainty."
        )
    how = {
        DecisionRule.GUARD_BAND: "A reading passes only when it keeps one expanded uncertainty (k = 2) away from its "
        "limit.",
        DecisionRule.FOUR_WAY: "A reading passes when it keeps one expanded uncertainty (k = 2) away from its limit, "
        "passes conditionally when it is nearer, fails conditionally when it is beyond the limit by less than that, "
        "and else fails.",
    }[judging.rule]
    risk = f"The probability that a passed item is in truth beyond its limit is {RISK[judging.rule]}."
    return f"{how} {risk} A reading for which the instrument's uncertainty is not on record is compared directly."


def _named(entry: Entry, judging: Judging) -> Entry:
    if entry.check is not Check.DIELECTRIC_STRENGTH or entry.note or not judging.dielectric_by:
        return entry
    return replace(entry, note=f"Competent person: {judging.dielectric_by}.")


def _measured(entry: Entry, judging: Judging) -> Entry:
    if entry.reading is None or entry.uncertainty is not None:
        return entry
    ranges = next((each.ranges for each in judging.before if each.is_same(entry)), judging.ranges)
    return replace(entry, uncertainty=number_reading_uncertainty(ranges, entry.check, entry.reading))
