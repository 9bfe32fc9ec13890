"""The checks of an item as plain numbers and words, for a tablet that compares and locks without the network.

Everything is decided here by the rules; the tablet compares decimals, walks the checks in order, shows sentences.
"""

from decimal import Decimal
from typing import Any

from app.rules.advice import Severity, describe_unsafe, list_advice
from app.rules.checks import Check, Step, may_need_earth
from app.rules.decisions import DecisionRule
from app.rules.entries import Decision, Entry, Trip, judge_entry
from app.rules.equipment import ItemFacts
from app.rules.fallbacks import DECIDING, MISSED, may_fall_back
from app.rules.judging import Judging, list_steps
from app.rules.limits import OUTPUT, limit_for
from app.rules.locks import describe_lock, describe_unsafe_lock
from app.rules.quantities import Reading, Unit, describe_bound, describe_number, list_spellings
from app.rules.uncertainties import MeasuringRange, list_ranges_for
from app.rules.verdicts import Outcome
from app.web.entry_fields import BAD, GOOD
from app.web.sheet_steps import SheetField, list_sheet_steps


def list_units() -> dict[str, Any]:
    """What a unit may be written as: spelling to dimension and power of ten; and the largest number of a dimension."""
    spellings, largest = list_spellings()
    return {
        "spellings": {text: [unit.dimension, unit.power] for text, unit in spellings.items()},
        "largest": {dimension: f"{most:f}" for dimension, most in largest.items()},
    }


def show_tablet_steps(facts: ItemFacts, judging: Judging) -> dict[str, Any]:
    """The checks of an item with their fields, limits and locks."""
    steps = {step.check: step for step in list_steps(facts, judging)}
    fields: dict[Check, list[dict[str, Any]]] = {check: [] for check in steps}
    for sheet_step in list_sheet_steps(facts, judging):
        for part in sheet_step.parts:
            fields[part.check] = [_field(field, facts, judging) for field in part.fields]
    unsafe = describe_unsafe(facts)
    return {
        "steps": [_step(steps[check], fields[check]) for check in steps],
        "fails": [advice.text for advice in list_advice(facts) if advice.severity == Severity.FAIL],
        "unsafe": describe_unsafe_lock(unsafe) if unsafe else "",
        "fallback": [MISSED.value, DECIDING.value]
        if may_fall_back(facts, judging.rulebook) and DECIDING in steps
        else [],
    }


def _step(step: Step, fields: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "check": step.check.value,
        "word": step.check.word,
        "energises": step.energises,
        "required": step.required,
        "instead_of": [check.value for check in step.instead_of],
        "failed": describe_lock(step.check, failed=True),
        "unsure": describe_lock(step.check, failed=False),
        "fields": fields,
    }


def _field(field: SheetField, facts: ItemFacts, judging: Judging) -> dict[str, Any]:
    told: dict[str, Any] = {"name": field.name, "kind": field.kind, "needed": field.place < 2 and field.point != OUTPUT}
    if field.kind != "reading" or field.unit is None:
        return told | {"answers": {word: _answer(field, word, facts, judging) for word in (GOOD, BAD)}}
    check = field.check
    limit = limit_for(
        check,
        facts,
        judging.rulebook,
        multiple=field.multiple,
        temperature_c=judging.conductor_c,
        point=field.point,
    )
    unit = limit.unit if limit is not None else field.unit
    always, between = "", limit.wants if limit is not None else ""
    if limit is None or (check is Check.PROTECTIVE_CONDUCTOR_RESISTANCE and not may_need_earth(facts)):
        # No limit decides, so any number gives the same answer.
        sample = Entry(check, Reading(Decimal(1), unit), point=field.point, multiple=field.multiple)
        judged = judge_entry(sample, facts, judging.rulebook)
        always, between = judged.outcome.value, judged.working
    return told | {
        "unit": [field.unit.dimension, field.unit.power, field.unit.symbol],
        "limit_unit": [unit.dimension, unit.power, unit.symbol],
        "limit": [_text(limit.at_least), _text(limit.at_most)] if limit is not None else [None, None],
        "shown": [_shown(limit.at_least, upper=False), _shown(limit.at_most, upper=True)] if limit is not None else [],
        "loosest": _text(limit.loosest) if limit is not None else None,
        "rule": judging.rule.value,
        "ranges": [_range(each) for each in _list_ranges(judging, check, unit)],
        "always": always,
        "between": between,
        "may_jump": field.may_jump,
    }


def _list_ranges(judging: Judging, check: Check, unit: Unit) -> list[MeasuringRange]:
    """The instrument's ranges for a check, where the decision rule asks how sure a reading is."""
    if judging.rule is DecisionRule.SIMPLE:
        return []
    return list_ranges_for(judging.ranges, check, unit)


def _range(each: MeasuringRange) -> dict[str, Any]:
    """A range in its own unit; fixed is what is added to the share of the reading."""
    return {
        "least": _text(each.least),
        "most": _text(each.most),
        "percent": _text(each.percent),
        "fixed": _text(each.digits * each.resolution + each.absolute),
        "coverage": describe_number(each.coverage, 12),
        "power": each.unit.power,
    }


def _answer(field: SheetField, word: str, facts: ItemFacts, judging: Judging) -> str:
    """The outcome of one of the two big buttons."""
    good = word == GOOD
    if field.kind == "trip":
        trip = Trip.NO_TRIP if good else Trip.TRIPPED
        entry = Entry(field.check, trip=trip, multiple=field.multiple, phase_deg=field.phase_deg)
    else:
        entry = Entry(field.check, outcome=Outcome.PASS if good else Outcome.FAIL)
    return judge_entry(entry, facts, judging.rulebook, Decision(judging.rule)).outcome.value


def _shown(value: Decimal | None, *, upper: bool) -> str | None:
    return None if value is None else describe_bound(value, upper=upper)


def _text(value: Decimal | None) -> str | None:
    return None if value is None else f"{value:f}"
