"""Deciding how often items are tested: a person's months and reason, for one item or for several alike at once.

Every way to an interval goes through here or, for the usual one of an equipment type, asks the same doubts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict

from app.actions.deeds import Deed, check_version, say_day
from app.actions.items import interval_months_of, keep_interval_decision, move_due_day
from app.rules.equipment import Environment
from app.rules.horizons import next_horizon
from app.rules.interval_decisions import (
    Doubted,
    IntervalDecision,
    check_decision,
    describe_months,
    judge_longer,
    list_doubts,
    may_lengthen,
)
from app.rules.intervals import next_due, suggest_interval
from app.rules.items import ItemState
from app.rules.reading_histories import list_trend_warnings
from app.rules.verdicts import Mistakes, Refused
from app.store.evidence import KnownEvidence, find_known_evidence
from app.store.intervals import change_due_before_paper
from app.store.items import ItemRow, list_items_by_id
from app.store.reading_histories import list_reading_histories

#: The customer, equipment type and kind of place of like items in like places.
Group = tuple[int, int | None, str]


def decide_interval(deed: Deed, item_id: int, decision: IntervalDecision, version: int | None = None) -> ItemRow:
    """Decide how often an item is tested. Raises Mistakes, of which Doubted says what speaks against it."""
    return decide_intervals(deed, {item_id: version}, decision)[0]


def decide_intervals(
    deed: Deed, versions: Mapping[int, int | None], decision: IntervalDecision, premises_id: int | None = None
) -> list[ItemRow]:
    """Decide the interval of several items, all or none. versions are those that were shown, by item id; premises_id
    narrows the evidence, as it was shown.

    The next due date of each moves along, counted from its last pass. Raises Mistakes, of which Doubted says what
    speaks against it.
    """
    mistakes = check_decision(decision)
    if not versions:
        mistakes["items"] = "Tick the items that it is decided for."
    if mistakes:
        raise Mistakes(mistakes)
    rows = list_items_by_id(deed.session, versions.keys())
    for row in rows:
        if row.state == ItemState.WITHDRAWN:
            raise Refused(f"Item {row.number} is withdrawn.")
        check_version(row, versions[row.id], f"item {row.number}")
    groups = {_group_of(row) for row in rows}
    known = {
        group: find_known_evidence(deed.session, deed.today, decision.years, *group, premises_id) for group in groups
    }
    _check_lengthening(deed, rows, decision, known)
    answers = {name: level.value for name, level in asdict(decision.answers).items()} if decision.answers else None
    for row in rows:
        before = interval_months_of(row)
        row.interval_months = decision.months
        row.interval_reason = decision.reason.strip() if decision.months is not None else ""
        move_due_day(row, before)
        keep_interval_decision(
            deed,
            row,
            before,
            answers=answers,
            evidence=decision.evidence or known[_group_of(row)].sentence,
            reason=decision.reason.strip(),
            together=len(rows),
        )
        deed.note("item", row.id, _sentence(row, before, decision, len(rows)))
    change_due_before_paper(deed.session, rows)
    return rows


def _check_lengthening(
    deed: Deed, rows: Sequence[ItemRow], decision: IntervalDecision, known: Mapping[Group, KnownEvidence]
) -> None:
    """Raises Mistakes where this person cannot make an interval longer, or has not said to have seen the doubts."""
    then = {row.id: decision.months or interval_months_of(row, own=False) for row in rows}
    longer = [row for row in rows if judge_longer(interval_months_of(row), then[row.id])]
    if longer and deed.person is not None and (sentence := may_lengthen(deed.person.role)):
        raise Mistakes({"months": sentence})
    due = {row.id: next_due(row.last_tested_on, then[row.id]) if row.last_tested_on else None for row in longer}
    until = {item_id: next_horizon(day, deed.today) for item_id, day in due.items()}
    warned = list_trend_warnings(list_reading_histories(deed.session, due), until.__getitem__) if due else {}
    doubts: dict[str, None] = {}
    for row in longer:
        evidence = known[_group_of(row)]
        name = f"{row.number} {row.description}: " if len(rows) > 1 else ""
        found = list_doubts(
            interval_months_of(row),
            then[row.id],
            evidence.chosen.rate if evidence.chosen else None,
            [name + warning.short for warning in warned.get(row.id, []) if warning.meets_on],
            advice=suggest_interval(row.facts, Environment(row.premises.environment)),
            whole=evidence.whole.rate if evidence.whole else None,
        )
        doubts |= dict.fromkeys(found)
    if doubts and not decision.all_the_same:
        raise Doubted(tuple(doubts))


def _group_of(row: ItemRow) -> Group:
    return row.customer_id, row.equipment_type_id, row.premises.environment


def _sentence(row: ItemRow, before: int | None, decision: IntervalDecision, together: int) -> str:
    now = describe_months(interval_months_of(row))
    usual = ", as usual" if decision.months is None else ""
    others = f" (with {together - 1} other{'s' if together > 2 else ''} alike)" if together > 1 else ""
    due = f" Next due on {say_day(row.next_due_on)}." if row.next_due_on else ""
    return (
        f"Decided the interval of item {row.number}{others}: {now}{usual}, before that {describe_months(before)}. "
        f"Reason: {decision.reason.strip().rstrip('.')}.{due}"
    )
