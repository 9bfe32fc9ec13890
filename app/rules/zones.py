"""The numbers between which a reading passes and beyond which it fails, worked out beforehand for one field.

A tablet without the network compares with them and needs no rule. Where the outcome hangs on the uncertainty of each
single reading, or on a fact that is missing, the zones keep apart, and what lies between is left to the office.
"""

from dataclasses import dataclass
from decimal import Decimal

from app.rules.checks import UNITS, Check, may_need_earth
from app.rules.decisions import DecisionRule
from app.rules.entries import Entry, judge_entry
from app.rules.equipment import ItemFacts
from app.rules.judging import Judging
from app.rules.limits import Limit, limit_for
from app.rules.quantities import Reading, convert_number
from app.rules.uncertainties import MeasuringRange
from app.rules.verdicts import Outcome

BETWEEN = "so near the limit that the office judges it, when it is sent"


@dataclass(frozen=True)
class Zones:
    """Passes from pass_at_least to pass_at_most, both included; fails below fail_below and above fail_above, both
    excluded; inconclusive between. always is the outcome of every number where no limit decides.
    """

    limit: Limit | None
    pass_at_least: Decimal | None = None
    pass_at_most: Decimal | None = None
    fail_below: Decimal | None = None
    fail_above: Decimal | None = None
    always: Outcome | None = None
    between: str = ""


def number_zones(
    check: Check, item: ItemFacts, judging: Judging, *, point: str = "", multiple: Decimal | None = None
) -> Zones:
    """Work out the zones of a reading, in the unit of its limit. Raises ValueError for a check without a number."""
    rulebook = judging.rulebook
    limit = limit_for(check, item, rulebook, multiple=multiple, temperature_c=judging.conductor_c, point=point)
    unit = limit.unit if limit is not None else UNITS.get(check)
    if unit is None:
        raise ValueError(f"The {check.word} has no number.")
    without_earth = check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and not may_need_earth(item)
    if limit is None or without_earth:
        sample = Entry(check, Reading(Decimal(1), unit), point=point, multiple=multiple)
        judged = judge_entry(sample, item, rulebook)
        return Zones(limit, always=judged.outcome, between=judged.working)
    ranges = [each for each in judging.ranges if each.check is check and each.unit.dimension == unit.dimension]
    if judging.rule is DecisionRule.SIMPLE:
        ranges = []
    four_way = judging.rule is DecisionRule.FOUR_WAY
    at_least, at_most = limit.at_least, limit.at_most
    loose_least = limit.loosest if at_least is not None and limit.loosest is not None else at_least
    loose_most = limit.loosest if at_least is None and limit.loosest is not None else at_most
    return Zones(
        limit,
        pass_at_least=None if at_least is None else _above(at_least, ranges, limit),
        pass_at_most=None if at_most is None else at_most - _most_below(at_most, ranges, limit),
        fail_below=None
        if loose_least is None
        else loose_least - (_most_below(loose_least, ranges, limit) if four_way else 0),
        fail_above=None if loose_most is None else _above(loose_most, ranges if four_way else [], limit),
        between=limit.wants or BETWEEN,
    )


def _above(bound: Decimal, ranges: list[MeasuringRange], limit: Limit) -> Decimal:
    """From where on a reading lies beyond a bound by more than its own uncertainty, whichever range it was taken in."""
    found = [bound]
    for each in ranges:
        fixed = convert_number(each.digits * each.resolution, each.unit, limit.unit)
        share = each.percent / 100
        # A range of 100 % and more shows nothing: no reading is surely beyond the bound.
        found.append((bound + fixed) / (1 - share) if share < 1 else Decimal(10) ** 15)
    return max(found)


def _most_below(bound: Decimal, ranges: list[MeasuringRange], limit: Limit) -> Decimal:
    """The largest uncertainty that a reading up to a bound can have."""
    found = [Decimal(0)]
    for each in ranges:
        fixed = convert_number(each.digits * each.resolution, each.unit, limit.unit)
        found.append(bound * each.percent / 100 + fixed)
    return max(found)
