"""Which entries must not be taken: those for checks that a failed or undecided check before them has locked."""

from collections.abc import Sequence
from functools import partial

from app.rules.advice import describe_unsafe
from app.rules.checks import Check
from app.rules.entries import SIMPLE, Decision, Entry
from app.rules.equipment import ItemFacts
from app.rules.readings import judge_item
from app.rules.rulebooks import Rulebook
from app.rules.sequences import list_chosen_steps
from app.rules.verdicts import OPEN, Outcome


def list_locked_entries(
    item: ItemFacts,
    entries: Sequence[Entry],
    rulebook: Rulebook,
    decision: Decision = SIMPLE,
    *,
    dielectric: bool = False,
    after_repair: bool = False,
    own: tuple[Check, ...] | None = None,
    again: tuple[Check, ...] = (),
) -> tuple[tuple[Entry, str], ...]:
    """List the entries for checks that should not have been done, each with the sentence that says why.

    After a failed check that is every later one; after one that needs a decision, those that energise the item.
    The sequence is chosen as for judge_item. Raises ValueError for an entry that cannot be judged.
    """
    steps = list_chosen_steps(item, rulebook, own=own, again=again, dielectric=dielectric, after_repair=after_repair)
    judge = partial(
        judge_item,
        item,
        rulebook=rulebook,
        decision=decision,
        dielectric=dielectric,
        after_repair=after_repair,
        own=own,
        again=again,
    )
    places = {step.check: place for place, step in enumerate(steps)}
    outcomes = {judged.check: judged.outcome for judged in judge(entries=entries).checks}
    failed = _first(places, outcomes, (Outcome.FAIL,))
    undecided = _first(places, outcomes, OPEN)
    unsafe = bool(describe_unsafe(item))

    def is_late(entry: Entry) -> bool:
        place = places.get(entry.check)
        if place is None or entry.outcome is Outcome.NOT_DONE:
            return False
        return place > failed or ((unsafe or place > undecided) and steps[place].energises)

    in_time = [entry for entry in entries if not is_late(entry)]
    why = dict(judge(entries=in_time).locked)
    return tuple((entry, why[entry.check]) for entry in entries if is_late(entry) and entry.check in why)


def _first(places: dict[Check, int], outcomes: dict[Check, Outcome], wanted: tuple[Outcome, ...]) -> int:
    """The place of the first check with such an outcome, beyond the last where there is none."""
    return min((place for check, place in places.items() if outcomes.get(check) in wanted), default=len(places))
