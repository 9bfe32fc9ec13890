"""Invented readings for the demo: what a technician could have found, with a few failures among them."""

from decimal import Decimal
from random import Random

from app.rules.checks import Check, Step, check_sequence, list_visual_points
from app.rules.equipment import ItemFacts, Rcd
from app.rules.limits import limit_for
from app.rules.quantities import Bound, Reading, Unit
from app.rules.rcds import FIVE, HALF, list_trip_tests
from app.rules.readings import Entry, Trip, judge_item
from app.rules.rulebooks.figures import Rulebook
from app.rules.verdicts import Outcome, Verdict

#: Share of items that fail at a visit in the demo.
FAILURES = 0.03
SEEN = (
    "Outer sheath of the cord cut near the plug; inner insulation showing.",
    "Plug cracked at the earth pin.",
    "Cord pulled out of its grip at the appliance; cores visible.",
    "Signs of overheating at the live pin and the fuse holder.",
    "Case broken; a live part can be reached with the test finger.",
    "Cord repaired with insulating tape.",
)


def invent_entries(
    item: ItemFacts, rulebook: Rulebook, luck: Random, failing: bool | None = None
) -> tuple[list[Entry], str]:
    """Entries for the whole test sequence of an item, and the remedy when it fails.

    failing None leaves it to luck. After a failed check nothing more is entered, as on site.
    """
    steps = check_sequence(item, rulebook)
    fails = luck.random() < FAILURES if failing is None else failing
    where = _failing_check(steps, luck) if fails else None
    entries: list[Entry] = []
    for step in steps:
        if step.check in (Check.MICROWAVE_LEAKAGE, Check.DIELECTRIC_STRENGTH) or (
            step.instead_of and not step.required
        ):
            continue
        entries += _entries_for(step, item, rulebook, luck, step.check == where)
        if step.check == where:
            break
    remedy = (
        luck.choice(("Replace the cord and test again.", "Repair it and have it tested again.", "Replace the item."))
        if fails
        else ""
    )
    if not fails:
        found = judge_item(item, entries, rulebook)
        if found.verdict != Verdict.PASS:
            raise ValueError(f"the demo's readings for {item} do not pass: {found.sentence} {found.missing}")
    return entries, remedy


def _failing_check(steps: tuple[Step, ...], luck: Random) -> Check:
    measured = [
        step.check
        for step in steps
        if step.check in (Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.INSULATION_RESISTANCE)
    ]
    return luck.choice([Check.VISUAL, Check.VISUAL, *measured])


def _entries_for(step: Step, item: ItemFacts, rulebook: Rulebook, luck: Random, fails: bool) -> list[Entry]:
    check = step.check
    if check == Check.VISUAL:
        if not fails:
            return [Entry(check, outcome=Outcome.PASS)]
        point = luck.choice(list_visual_points(item))
        return [Entry(check, outcome=Outcome.FAIL, point=point.code, note=luck.choice(SEEN))]
    if step.unit is None:
        return [Entry(check, outcome=Outcome.PASS)]
    if check == Check.RCD_TRIP_TIME and item.rcd is not None:
        return [_trip(item.rcd, multiple, phase, luck) for multiple, phase in list_trip_tests(item.rcd)]
    points = [f"outlet {number}" for number in range(1, item.outlets + 1)] if item.outlets > 1 else [""]
    if check != Check.PROTECTIVE_CONDUCTOR_RESISTANCE:
        points = [""]
    return [Entry(check, _reading(step, item, rulebook, luck, fails), point=point) for point in points]


def _trip(rcd: Rcd, multiple: Decimal, phase_deg: int, luck: Random) -> Entry:
    if multiple <= HALF:
        return Entry(Check.RCD_TRIP_TIME, trip=Trip.NO_TRIP, multiple=multiple, phase_deg=None)
    time = Reading(Decimal(luck.randint(14, 29) if multiple < FIVE else luck.randint(8, 19)), Unit.MILLISECOND)
    return Entry(Check.RCD_TRIP_TIME, time, multiple=multiple, phase_deg=phase_deg)


def _reading(step: Step, item: ItemFacts, rulebook: Rulebook, luck: Random, fails: bool) -> Reading:
    assert step.unit is not None
    limit = limit_for(step.check, item, rulebook)
    if step.check == Check.PROTECTIVE_CONDUCTOR_RESISTANCE and limit is not None and limit.at_most is not None:
        over = luck.randint(4, 90) if fails else -luck.randint(2, 7)
        return Reading(max(Decimal("0.02"), (limit.at_most * 100 // 1 + over) / 100), step.unit)
    if step.check == Check.INSULATION_RESISTANCE:
        if fails:
            return Reading(Decimal(luck.randint(2, 19)) / 100, step.unit)
        if luck.random() < 0.8:
            return Reading(Decimal(200), step.unit, Bound.ABOVE)
        return Reading(Decimal(luck.randint(15, 180)), step.unit)
    if step.check == Check.LOAD:
        rated = item.rated_power_w or Decimal(100)
        return Reading((rated * luck.randint(84, 99) / 100).quantize(Decimal(1)), step.unit)
    return Reading(Decimal(luck.randint(2, 18)) / 100, step.unit)
