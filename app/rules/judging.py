"""What a visit is judged by: the rulebook with the house limits over it, the decision rule, and how sure the instrument
is of a reading. Fixed when the visit starts, so that one visit is judged by one measure.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from app.rules.decisions import RISK, DecisionRule
from app.rules.equipment import ItemFacts
from app.rules.readings import Decision, Entry, ItemVerdict, judge_item
from app.rules.rulebooks import Rulebook
from app.rules.uncertainties import MeasuringRange, number_reading_uncertainty


@dataclass(frozen=True)
class Judging:
    """ranges are the instrument's own; a reading outside all of them is judged without a guard band."""

    rulebook: Rulebook
    rule: DecisionRule = DecisionRule.SIMPLE
    ranges: tuple[MeasuringRange, ...] = ()

    @property
    def decision(self) -> Decision:
        return Decision(self.rule)


def list_measured(entries: Iterable[Entry], judging: Judging) -> list[Entry]:
    """Give the entries with the instrument's uncertainty of each reading, where the decision rule needs it."""
    if judging.rule is DecisionRule.SIMPLE:
        return list(entries)
    return [_measured(entry, judging) for entry in entries]


def judge_visit_item(item: ItemFacts, entries: Iterable[Entry], judging: Judging) -> ItemVerdict:
    """Judge an item from everything entered for it at a visit."""
    return judge_item(item, list_measured(entries, judging), judging.rulebook, decision=judging.decision)


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


def _measured(entry: Entry, judging: Judging) -> Entry:
    if entry.reading is None or entry.uncertainty is not None:
        return entry
    return replace(entry, uncertainty=number_reading_uncertainty(judging.ranges, entry.check, entry.reading))
