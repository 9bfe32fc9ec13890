"""Deciding how often items are tested: a person's months and reason, for one item or for several alike at once."""

from collections.abc import Mapping
from dataclasses import asdict

from app.actions.deeds import Deed, check_version, say_day
from app.actions.items import interval_months_of, keep_interval_decision, move_due_day
from app.rules.interval_decisions import IntervalDecision, check_decision, describe_months
from app.rules.items import ItemState
from app.rules.verdicts import Mistakes, Refused
from app.store.intervals import change_due_before_paper
from app.store.items import ItemRow, list_items_by_id


def decide_interval(deed: Deed, item_id: int, decision: IntervalDecision, version: int | None = None) -> ItemRow:
    """Decide how often an item is tested. Raises Mistakes."""
    return decide_intervals(deed, {item_id: version}, decision)[0]


def decide_intervals(deed: Deed, versions: Mapping[int, int | None], decision: IntervalDecision) -> list[ItemRow]:
    """Decide the interval of several items, all or none. versions are those that were shown, by item id.

    The next due date of each moves along, counted from its last pass. Raises Mistakes.
    """
    mistakes = check_decision(decision)
    if not versions:
        mistakes["items"] = "Tick the items that it is decided for."
    if mistakes:
        raise Mistakes(mistakes)
    rows = list_items_by_id(deed.session, versions.keys())
    answers = {name: level.value for name, level in asdict(decision.answers).items()} if decision.answers else None
    for row in rows:
        if row.state == ItemState.WITHDRAWN:
            raise Refused(f"Item {row.number} is withdrawn.")
        check_version(row, versions[row.id], f"item {row.number}")
        before = interval_months_of(row)
        row.interval_months = decision.months
        row.interval_reason = decision.reason.strip() if decision.months is not None else ""
        move_due_day(row, before)
        keep_interval_decision(
            deed,
            row,
            before,
            answers=answers,
            evidence=decision.evidence,
            reason=decision.reason.strip(),
            together=len(rows),
        )
        deed.note("item", row.id, _sentence(row, before, decision, len(rows)))
    change_due_before_paper(deed.session, rows)
    return rows


def _sentence(row: ItemRow, before: int | None, decision: IntervalDecision, together: int) -> str:
    now = describe_months(interval_months_of(row))
    usual = ", as usual" if decision.months is None else ""
    others = f" (with {together - 1} other{'s' if together > 2 else ''} alike)" if together > 1 else ""
    due = f" Next due on {say_day(row.next_due_on)}." if row.next_due_on else ""
    return (
        f"Decided the interval of item {row.number}{others}: {now}{usual}, before that {describe_months(before)}. "
        f"Reason: {decision.reason.strip().rstrip('.')}.{due}"
    )
