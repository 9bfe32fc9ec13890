"""Judges one reading against its limit, in words and numbers. The whole item is judged in readings."""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum

from app.rules.checks import UNITS, Check, may_need_earth
from app.rules.decisions import Band, DecisionRule, judge_value
from app.rules.equipment import Construction, ItemFacts
from app.rules.fault_words import describe_fault
from app.rules.limits import Limit, describe_limit, limit_for, limit_load_current, number_spare
from app.rules.quantities import (
    Bound,
    Reading,
    Unit,
    convert_for_lead,
    convert_number,
    convert_reading,
    describe_bound,
    describe_number,
)
from app.rules.rcds import HALF
from app.rules.rulebooks.figures import Rulebook
from app.rules.verdicts import GOOD, Outcome
from app.rules.visual_points import describe_point


class Trip(StrEnum):
    """What an RCD did where no time was shown."""

    TRIPPED = "trip"
    NO_TRIP = "no-trip"

    @property
    def word(self) -> str:
        return {"trip": "tripped", "no-trip": "no trip"}[self.value]


@dataclass(frozen=True)
class Entry:
    """What was found for one check: a reading, or an outcome, or what an RCD did.

    point names the metal part or outlet; multiple and phase_deg belong to trip times; lead is the test lead's
    resistance still to be subtracted; conductor_c the cord's temperature; steady is False for a reading that jumped;
    uncertainty is the expanded uncertainty in the reading's own unit; volts is what a dielectric strength test was done
    with, in V.
    """

    check: Check
    reading: Reading | None = None
    outcome: Outcome | None = None
    trip: Trip | None = None
    point: str = ""
    multiple: Decimal | None = None
    phase_deg: int | None = None
    note: str = ""
    lead: Reading | None = None
    conductor_c: Decimal | None = None
    steady: bool = True
    uncertainty: Decimal | None = None
    volts: Decimal | None = None


@dataclass(frozen=True)
class Decision:
    """The decision rule in use. expanded_uncertainty is in unit, or where that is None in the unit of each limit."""

    rule: DecisionRule = DecisionRule.SIMPLE
    expanded_uncertainty: Decimal | None = None
    unit: Unit | None = None


SIMPLE = Decision()
# An RCD that holds half its rated current for a second has not tripped (common practice, no source).
WATCHED_MS = Decimal(1000)


@dataclass(frozen=True)
class CheckVerdict:
    """The answer for one check. margin is in the limit's unit, below zero outside the limit; so is uncertainty, the
    expanded one where it is known. parts holds every reading of a check with several; the worst is this answer.
    """

    check: Check
    outcome: Outcome
    limit: Limit | None
    working: str
    source: str
    margin: Decimal | None
    sentence: str
    entry: Entry | None = None
    acceptance: Band | None = None
    uncertainty: Decimal | None = None
    parts: tuple["CheckVerdict", ...] = field(default=())


def judge_entry(entry: Entry, item: ItemFacts, rulebook: Rulebook, decision: Decision = SIMPLE) -> CheckVerdict:
    """Judge one entry against the limit that holds for this item.

    Raises ValueError where the entry cannot be judged at all: a unit of another dimension, a test lead bigger than
    the reading, nothing entered.
    """
    if entry.reading is None:
        return _judge_outcome(entry, item, rulebook)
    limit = limit_for(
        entry.check, item, rulebook, multiple=entry.multiple, temperature_c=entry.conductor_c, point=entry.point
    )  # fmt: skip
    if entry.check is Check.LOAD:
        limit = _as_told(limit, entry.reading.unit, item)
    home = entry.reading.unit if entry.check is Check.LOAD else UNITS.get(entry.check)
    unit = limit.unit if limit is not None else home
    if unit is None:
        raise ValueError(f"The {entry.check.word} has no number: say pass or fail.")
    if entry.check is Check.RCD_TRIP_TIME and (entry.multiple is None or item.rcd is None):
        raise ValueError("A trip time needs the multiple of the rated current, and the RCD's own data on the item.")
    net = convert_for_lead(entry.reading, entry.lead) if entry.lead is not None else entry.reading
    net = convert_reading(net, unit)
    shown = _shown(entry, net)
    if entry.check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and not may_need_earth(item):
        return _judge_without_earth(entry, item, shown)
    if limit is None and entry.check is Check.LOAD:
        why = "noted; no rating is known to compare it with"
        return CheckVerdict(entry.check, Outcome.PASS, None, why, "", None, f"{shown}, {why}.", entry)
    if limit is None:
        why = f"“{rulebook.title}” has no limit for {_subject(entry, item)}"
        return CheckVerdict(
            entry.check, Outcome.INCONCLUSIVE, None, why, "", None, f"{shown}, {why}: a person decides.", entry
        )
    if not entry.steady:
        text = f"{shown}, but the reading jumped as the cord was moved: fail, a fault even if it lasted only a moment."
        return CheckVerdict(entry.check, Outcome.FAIL, limit, limit.whole_working, limit.source, None, text, entry)
    if limit.at_most is None and limit.at_least is None:
        return _judge_half_current(entry, limit, net)
    return _judge_against(entry, limit, net, shown, decision)


def _as_told(limit: Limit | None, unit: Unit, item: ItemFacts) -> Limit | None:
    """A load told in watts is compared in watts, one in amperes with the rated current."""
    if unit.dimension == Unit.AMP.dimension:
        return limit_load_current(item)
    return replace(limit, unit=Unit.WATT) if limit is not None and unit in (Unit.WATT, Unit.KILOWATT) else limit


def _judge_against(entry: Entry, limit: Limit, net: Reading, shown: str, decision: Decision) -> CheckVerdict:
    simple = decision.rule is DecisionRule.SIMPLE
    uncertainty = _uncertainty(entry, limit, decision)
    guard = Decimal(0) if simple or uncertainty is None else uncertainty
    band = Band(limit.at_least, limit.at_most, guard)
    outcome = judge_value(net.value, net.bound, band, decision.rule)
    asked = ""
    if limit.loosest is not None and outcome not in GOOD:
        loose = Band(limit.loosest, None, guard) if limit.at_least is not None else Band(None, limit.loosest, guard)
        if judge_value(net.value, net.bound, loose, decision.rule) is not Outcome.FAIL:
            outcome, asked = Outcome.INCONCLUSIVE, limit.wants
        else:
            limit = _beyond_doubt(limit)
            band = Band(limit.at_least, limit.at_most, guard)
    margin = _margin(net.value, limit)
    accepted = "" if simple else f"; {_acceptance(band, limit.unit, uncertainty)}"
    words = f"{shown}, {describe_limit(limit)}{accepted}: {_ending(outcome, net, limit, margin, asked)}"
    if outcome in (Outcome.FAIL, Outcome.CONDITIONAL_PASS) and margin > 0 and net.bound is Bound.EXACT:
        words = f"{words.removesuffix('.')}, less than the uncertainty."
    return CheckVerdict(
        entry.check, outcome, limit, limit.whole_working, limit.source, margin, words, entry,
        None if simple else band, uncertainty,
    )  # fmt: skip


def _beyond_doubt(limit: Limit) -> Limit:
    """The limit to name where even the loosest one that the missing fact could give is not met."""
    loosest = describe_bound(limit.loosest or Decimal(0), upper=limit.at_most is not None)
    working = f"{limit.working}; even {loosest} {limit.unit.symbol}, the loosest "
    return replace(limit, working=working + "that the missing fact could give, is not met", is_sum=False)


def _ending(outcome: Outcome, net: Reading, limit: Limit, margin: Decimal, asked: str) -> str:
    if asked:
        return f"needs a decision. {asked}"
    if outcome is Outcome.INCONCLUSIVE:
        return "inconclusive, the true value can lie on either side. Measure again on a range that shows it."
    if net.bound is not Bound.EXACT:
        return f"{outcome.word}."
    amount = f"{describe_number(abs(number_spare(margin, limit.at_least, limit.at_most)))} {limit.unit.symbol}"
    if margin == 0:
        return f"{outcome.word}, exactly at the limit."
    if margin > 0:
        return f"{outcome.word}, {amount} to spare."
    over = limit.at_most is not None and net.value > limit.at_most
    return f"{outcome.word}, {amount} {'over' if over else describe_below(limit.unit)}."


def describe_below(unit: Unit) -> str:
    """Say in a word what a value below its limit is: a time is too early, everything else is short."""
    return "too early" if unit.dimension == "time" else "short"


def _acceptance(band: Band, unit: Unit, uncertainty: Decimal | None) -> str:
    if uncertainty is None:
        return "the uncertainty of this reading is not known, so the limit itself is used"
    bounds = [("from", band.accept_at_least), ("up to", band.accept_at_most)]
    told = " ".join(
        f"{word} {describe_bound(value, upper=word == 'up to')}" for word, value in bounds if value is not None
    )
    guard = describe_bound(band.guard, upper=False)
    return f"accepted {told} {unit.symbol} with an expanded uncertainty of {guard} {unit.symbol}"


def _margin(value: Decimal, limit: Limit) -> Decimal:
    margins = []
    if limit.at_most is not None:
        margins.append(limit.at_most - value)
    if limit.at_least is not None:
        margins.append(value - limit.at_least)
    return min(margins)


def _uncertainty(entry: Entry, limit: Limit, decision: Decision) -> Decimal | None:
    """The expanded uncertainty in the limit's unit: the reading's own, else the decision's, else not known."""
    if entry.uncertainty is not None and entry.reading is not None:
        return convert_number(entry.uncertainty, entry.reading.unit, limit.unit)
    if decision.expanded_uncertainty is None or decision.unit is None:
        return decision.expanded_uncertainty
    if decision.unit.dimension != limit.unit.dimension:
        return None
    return convert_number(decision.expanded_uncertainty, decision.unit, limit.unit)


def _judge_half_current(entry: Entry, limit: Limit, net: Reading) -> CheckVerdict:
    """At half current a time means that it tripped; "more than" a second or longer means that it did not."""
    if net.bound is Bound.ABOVE:
        outcome = Outcome.PASS if net.value >= WATCHED_MS else Outcome.INCONCLUSIVE
    else:
        outcome = Outcome.FAIL
    said = "did not trip" if outcome is Outcome.PASS else "tripped"
    if outcome is Outcome.INCONCLUSIVE:
        said = "not watched long enough; a second at least"
    text = f"{net.text} at {limit.working} ({limit.source}): {outcome.word}, {said}."
    return CheckVerdict(entry.check, outcome, limit, limit.working, limit.source, None, text, entry)


def _judge_without_earth(entry: Entry, item: ItemFacts, shown: str) -> CheckVerdict:
    """A resistance noted where no protective conductor has to be proved."""
    if item.construction in (Construction.CLASS_I, Construction.CLASS_II_FUNCTIONAL_EARTH):
        why = "no limit holds: this earth has no protective role"
        text = f"{shown}, {why} (DGUV Information 203-070, 7.2)."
        return CheckVerdict(entry.check, Outcome.PASS, None, why, "DGUV Information 203-070, 7.2", None, text, entry)
    why = f"{item.construction.word} has no protective conductor to prove"
    text = f"{shown}, but {why}: look at the class again, or say that it passes an earth on to an outlet."
    return CheckVerdict(entry.check, Outcome.INCONCLUSIVE, None, why, "", None, text, entry)


def _judge_outcome(entry: Entry, item: ItemFacts, rulebook: Rulebook) -> CheckVerdict:
    if entry.trip is not None:
        return _judge_trip(entry, item, rulebook)
    if entry.outcome is None:
        raise ValueError(f"Nothing is entered for the {entry.check.word}.")
    point = describe_point(entry.point) if entry.check is Check.VISUAL else entry.point
    where = f" ({point})" if point else ""
    where += f" with {describe_number(entry.volts)} V" if entry.volts is not None else ""
    note = f" {entry.note}" if entry.note else ""
    seen = entry.check is Check.VISUAL and note
    fault = f", {describe_fault(entry.check)}" if entry.outcome is Outcome.FAIL and not seen else ""
    words = f"{entry.check.word[0].upper()}{entry.check.word[1:]}{where}: {entry.outcome.word}{fault}.{note}"
    working = "looked at by a person" if entry.check is Check.VISUAL else "noted by a person, no number"
    return CheckVerdict(entry.check, entry.outcome, None, working, "", None, words, entry)


def _judge_trip(entry: Entry, item: ItemFacts, rulebook: Rulebook) -> CheckVerdict:
    limit = limit_for(entry.check, item, rulebook, multiple=entry.multiple)
    if entry.multiple is None or item.rcd is None:
        raise ValueError("A trip test needs the multiple of the rated current, and the RCD's own data on the item.")
    tripped = entry.trip is Trip.TRIPPED
    if limit is None:
        outcome, why = Outcome.INCONCLUSIVE, f"{item.rcd.product} has no figure at this multiple"
    elif limit.at_most is None and limit.at_least is None:
        outcome, why = (Outcome.FAIL, limit.working) if tripped else (Outcome.PASS, limit.working)
    elif tripped:
        outcome, why = Outcome.INCONCLUSIVE, f"{limit.text} at {limit.working}; the time is needed"
    else:
        outcome, why = Outcome.FAIL, f"{limit.text} at {limit.working}"
    phase = f" at {entry.phase_deg}°" if entry.phase_deg is not None else ""
    if outcome is Outcome.FAIL and tripped and entry.multiple == HALF:
        phase = " at half its rated current"
    text = f"{entry.trip.word.capitalize() if entry.trip else ''}{phase}, {why} ({item.rcd.product}): {outcome.word}."
    return CheckVerdict(entry.check, outcome, limit, why, item.rcd.product, None, text, entry)


def _shown(entry: Entry, net: Reading) -> str:
    """The reading as it is judged, with where it was taken and what was subtracted."""
    text = net.text
    if entry.reading is not None and entry.lead is not None:
        text = f"{entry.reading.text} less {entry.lead.text} of test lead = {net.text}"
    if entry.phase_deg is not None:
        text += f" at {entry.phase_deg}°"
    return f"{entry.point}: {text}" if entry.point else text


def _subject(entry: Entry, item: ItemFacts) -> str:
    if entry.check is Check.RCD_TRIP_TIME and item.rcd is not None and entry.multiple is not None:
        return f"{item.rcd.product} at {describe_number(entry.multiple)} × the rated current"
    return f"{entry.check.word} of this {item.construction.word} item"
