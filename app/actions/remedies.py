"""Putting a failed item right on the spot: what was found is kept as an earlier set, and the item is tested again."""

from app.actions.deeds import Deed, check_version
from app.rules.remedies import PutRight, check_put_right, describe_put_right, next_facts
from app.rules.verdicts import Mistakes, Refused, Verdict
from app.rules.visits import VisitState
from app.store.equipment_types import facts_columns
from app.store.readings import RoundRow, VisitItemRow, get_visit_item
from app.store.rounds import change_to_earlier, change_to_newest
from app.store.visits import get_visit

TURNS_MOST = 5


def put_right(deed: Deed, visit_id: int, item_id: int, done: PutRight, version: int | None = None) -> RoundRow:
    """Record what put a failed item right, change its facts, and open it for a new set of readings. Raises Mistakes.

    The item stays out of use until it passes.
    """
    row = _row(deed, visit_id, item_id, version)
    if row.verdict != Verdict.FAIL:
        raise Refused("Only an item that has failed is put right on the spot. Save what was found first.")
    if len(row.rounds) >= TURNS_MOST:
        raise Refused("This item was put right several times already. Leave it out of use, and have it repaired.")
    item = row.item
    if mistakes := check_put_right(done, item.facts):
        raise Mistakes(mistakes)
    words = describe_put_right(done)
    earlier = RoundRow(
        visit_item_id=row.id,
        position=len(row.rounds) + 1,
        **facts_columns(row.facts),
        own_checks=row.own_checks,
        after_repair=row.after_repair,
        verdict=row.verdict,
        advice=row.advice,
        missing=row.missing,
        note=row.note,
        tested_at=row.tested_at,
        tested_on=row.tested_on,
        tested_by_id=row.tested_by_id,
        change=done.change.value,
        put_right=words,
        put_right_at=deed.now,
        put_right_by_id=deed.doer.id,
    )
    deed.session.add(earlier)
    deed.session.flush()
    change_to_earlier(deed.session, row, earlier)
    before, after = facts_columns(item.facts), facts_columns(next_facts(item.facts, done))
    changed = {name: value for name, value in after.items() if before[name] != value}
    for name, value in changed.items():
        setattr(item, name, value)
    row.verdict, row.advice, row.missing, row.note, row.after_repair = None, [], [], "", False
    row.tested_at = row.tested_on = row.tested_by_id = row.next_due_on = None
    deed.session.flush()
    deed.note("item", item.id, f"Put item {item.number} right on the spot: {words}.{_said(before, changed)}")
    return earlier


def take_back_remedy(deed: Deed, visit_id: int, item_id: int, version: int | None = None) -> VisitItemRow:
    """Take back what was put right, as long as nothing is recorded after it: what was found stands again."""
    row = _row(deed, visit_id, item_id, version)
    if not row.rounds:
        raise Refused("Nothing was put right on this item.")
    if row.tested_at is not None:
        raise Refused("The item has been tested again since. Record a correction instead.")
    earlier, item = row.rounds[-1], row.item
    was, facts = facts_columns(earlier.facts), facts_columns(item.facts)
    for name in ("fuse_a", "cord_csa_mm2", "cord_length_m", "cord_moulded_plug"):
        if facts[name] != was[name]:
            setattr(item, name, was[name])
    for name in ("verdict", "advice", "missing", "note", "after_repair", "own_checks"):
        setattr(row, name, getattr(earlier, name))
    row.tested_at, row.tested_on, row.tested_by_id = earlier.tested_at, earlier.tested_on, earlier.tested_by_id
    deed.session.flush()
    words = earlier.put_right
    change_to_newest(deed.session, row, earlier)
    deed.note("item", item.id, f"Took back what was put right on item {item.number}: {words}. It stands as found.")
    return row


def _row(deed: Deed, visit_id: int, item_id: int, version: int | None) -> VisitItemRow:
    get_visit(deed.session, visit_id, kept=True)
    row = get_visit_item(deed.session, visit_id, item_id)
    if row.visit.state != VisitState.UNDER_WAY:
        raise Refused("Items are put right while the visit is under way; this one is " + row.visit.state + ".")
    check_version(row, version, "this item")
    return row


def _said(before: dict[str, object], changed: dict[str, object]) -> str:
    """What changed on the register, each with what was there."""
    words = {"fuse_a": "fuse in A", "cord_csa_mm2": "conductors in mm²", "cord_length_m": "cord in m"}
    parts = [
        f"{words[name]}: {before[name] if before[name] is not None else 'not known'}, now {value}"
        for name, value in changed.items()
        if name in words
    ]
    return f" On the register: {'; '.join(parts)}." if parts else ""
