"""Reads the readings of a case for the machine interface: values with units, outcomes, trip tests."""

from dataclasses import replace
from decimal import Decimal
from enum import StrEnum

from app.rules.case_fields import Fields
from app.rules.checks import UNITS, Check
from app.rules.decisions import DecisionRule
from app.rules.equipment import ItemFacts
from app.rules.quantities import Bound, Reading, Unit, check_size, convert_for_lead
from app.rules.rcds import FIVE, HALF, ONE, QUARTER_AMP_MA, TWO
from app.rules.readings import Decision, Entry, Trip
from app.rules.verdicts import Outcome

#: What else than its own dimension a check may be told in: a load in A; the volts of a test whose outcome stands by.
ALSO = {Check.LOAD: Unit.AMP.dimension, Check.DIELECTRIC_STRENGTH: Unit.VOLT.dimension}
EARTH = Check.PROTECTIVE_CONDUCTOR_RESISTANCE


class Said(StrEnum):
    """What may stand in place of a value."""

    PASS = "pass"
    FAIL = "fail"
    NOT_DONE = "not-done"
    TRIP = "trip"
    NO_TRIP = "no-trip"


def parse_entries(fields: Fields, item: ItemFacts | None, decision: Decision) -> tuple[Entry, ...]:
    """Read everything found, in the order given; a reading that cannot be read leaves a problem instead."""
    if not fields.has("readings"):
        fields.problem("readings", "is needed: a list, empty where nothing was done")
        return ()
    found, unsure = [], []
    for place, data in enumerate(fields.list("readings")):
        each = Fields(data, f"{fields.path}/readings/{place}", fields.problems)
        entry = _entry(each, item)
        each.close()
        if entry is None:
            continue
        found.append(entry)
        if decision.rule is not DecisionRule.SIMPLE and _is_unsure(entry, decision):
            unsure.append(f"readings/{place}")
    measured = [entry for entry in found if entry.reading is not None]
    if unsure and len(unsure) == len(measured) and decision.expanded_uncertainty is None:
        unsure = ["decision"]
    for where in unsure:
        also = "beside each reading" if where == "decision" else "in decision"
        fields.problem(f"{where}/expanded_uncertainty", f"is needed for the rule {decision.rule}, here or {also}")
    return tuple(found)


def _is_unsure(entry: Entry, decision: Decision) -> bool:
    """Say whether nothing tells the uncertainty of a measured value."""
    if entry.reading is None or entry.uncertainty is not None:
        return False
    if decision.expanded_uncertainty is None:
        return True
    return decision.unit is not None and decision.unit.dimension != entry.reading.unit.dimension


def _entry(each: Fields, item: ItemFacts | None) -> Entry | None:
    before = len(each.problems)
    check = each.choice("check", Check, required=True)
    value, unit = each.number("value"), each.choice("unit", Unit)
    bound = each.choice("bound", Bound)
    said = each.choice("outcome", Said)
    lead, uncertainty = each.number("test_lead"), each.number("expanded_uncertainty")
    warmth = each.number("conductor_c", least=Decimal(5), most=Decimal(40))
    entry = Entry(
        check or Check.VISUAL, point=each.text("point", 200), multiple=_multiple(each, check, item),
        phase_deg=_phase(each), note=each.text("note", 2000), conductor_c=warmth, steady=each.flag("steady", True),
        uncertainty=uncertainty,
    )  # fmt: skip
    if check is None or len(each.problems) > before:
        return None
    if check is not EARTH and (warmth is not None or not entry.steady):
        each.problem("conductor_c" if warmth is not None else "steady", f"belongs to {EARTH} only")
        return None
    if said is Said.TRIP and value is not None and check is Check.RCD_TRIP_TIME:
        said = None  # the time says so too
    if said is not None:
        return _said(each, entry, said, value if check is Check.DIELECTRIC_STRENGTH and unit is Unit.VOLT else None)
    return _measured(each, entry, value, unit, bound or Bound.EXACT, lead)


def _phase(each: Fields) -> int | None:
    if not each.has("phase_deg"):
        return None
    value = each.data["phase_deg"]
    phase = {"0": 0, "180": 180}.get(value) if isinstance(value, str) else value
    if isinstance(phase, int | float | Decimal) and not isinstance(phase, bool) and phase in (0, 180):
        return int(phase)
    each.problem("phase_deg", "must be 0 or 180")
    return None


def _multiple(each: Fields, check: Check | None, item: ItemFacts | None) -> Decimal | None:
    multiple, current = each.number("multiple", above=True), each.number("test_current_ma", above=True)
    if check is not Check.RCD_TRIP_TIME:
        for key in ("multiple", "phase_deg", "test_current_ma"):
            if each.has(key):
                each.problem(key, "belongs to rcd-trip-time only")
        return None
    if item is not None and item.rcd is None:
        each.problem("check", "needs the RCD's own data in item.rcd")
        return None
    if item is None or item.rcd is None:
        return None
    if (multiple is None) == (current is None):
        if not any(each.has(key) for key in ("multiple", "test_current_ma")) or multiple is not None:
            each.problem("multiple", "is needed: 0.5, 1, 2 or 5 (or test_current_ma in its place)")
        return None
    rated = item.rcd.rated_ma
    if multiple is None and current is not None:
        if current == QUARTER_AMP_MA and rated <= 30:
            return FIVE if current == 5 * rated else current / rated
        multiple = next((each_ for each_ in (HALF, ONE, TWO, FIVE) if each_ * rated == current), None)
        if multiple is None:
            each.problem(
                "test_current_ma", "must be 0.5, 1, 2 or 5 times the rating, or 250 mA up to a rating of 30 mA"
            )
        return multiple
    if multiple not in (HALF, ONE, TWO, FIVE):
        each.problem("multiple", "must be 0.5, 1, 2 or 5")
        return None
    return multiple


def _said(each: Fields, entry: Entry, said: Said, volts: Decimal | None) -> Entry | None:
    for key in ("value", "test_lead"):
        if each.has(key) and volts is None:
            each.problem(key, "cannot stand beside outcome: give the value or the outcome")
            return None
    if said in (Said.TRIP, Said.NO_TRIP):
        if entry.check is not Check.RCD_TRIP_TIME:
            each.problem("outcome", f"{said} belongs to rcd-trip-time only")
            return None
        return replace(entry, trip=Trip(said.value))
    return replace(entry, outcome=Outcome(said.value), volts=volts)


def _measured(
    each: Fields, entry: Entry, value: Decimal | None, unit: Unit | None, bound: Bound, lead: Decimal | None
) -> Entry | None:
    home = UNITS.get(entry.check)
    if home is None:
        for key in ("value", "unit", "bound"):
            if each.has(key):
                each.problem(key, f"{entry.check} has no number: give its outcome")
        each.problem("outcome", "is needed: pass, fail or not-done")
        return None
    if value is None:
        each.problem("value", "is needed, or outcome in its place")
        return None
    if unit is None:
        each.problem("unit", f"is needed, such as {home}")
        return None
    if unit is Unit.VOLT and entry.check is Check.DIELECTRIC_STRENGTH:
        each.problem("outcome", "is needed: volts are what was tested with; say pass, fail or not-done")
        return None
    if unit.dimension not in (home.dimension, ALSO.get(entry.check)):
        each.problem("unit", f"measures {unit.dimension}; {entry.check} is a {home.dimension}, such as {home}")
        return None
    reading = Reading(value, unit, bound)
    try:
        check_size(value, unit)
    except ValueError as error:
        each.problem("value", str(error))
        return None
    if bound is Bound.BELOW and value == 0:
        each.problem("value", "nothing can be below zero")
        return None
    if lead is None:
        return replace(entry, reading=reading)
    if entry.check is not EARTH:
        each.problem("test_lead", f"belongs to {EARTH} only")
        return None
    try:
        convert_for_lead(reading, Reading(lead, unit))
    except ValueError as error:
        each.problem("test_lead", str(error))
        return None
    return replace(entry, reading=reading, lead=Reading(lead, unit))
