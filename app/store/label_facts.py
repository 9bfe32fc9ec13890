"""What the labels of items say: number, verdict, date and initials as they stand in the records."""

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from app.rules.equipment import Environment
from app.rules.intervals import FallsDue, judge_due, suggest_interval
from app.rules.items import ItemState
from app.rules.labels import LabelFacts, Standing, describe_label_address, judge_standing
from app.rules.verdicts import Verdict
from app.store.items import ItemRow
from app.store.readings import VisitItemRow


def facts_for_labels(session: Session, item_ids: Sequence[int], public_address: str) -> list[LabelFacts]:
    """For each of these items that is still on the register, in the order of the ids."""
    query = select(ItemRow).where(ItemRow.id.in_(item_ids)).options(joinedload(ItemRow.premises))
    items = {row.id: row for row in session.scalars(query)}
    tested = (
        select(VisitItemRow)
        .where(VisitItemRow.item_id.in_(item_ids), VisitItemRow.verdict.in_((Verdict.PASS.value, Verdict.FAIL.value)))
        .order_by(VisitItemRow.tested_at, VisitItemRow.id)
        .options(joinedload(VisitItemRow.tested_by))
    )
    last = {row.item_id: row for row in session.scalars(tested)}
    wanted = [items[item_id] for item_id in item_ids if item_id in items]
    return [
        _facts_of(item, last.get(item.id), public_address) for item in wanted if item.state != ItemState.WITHDRAWN.value
    ]


def _facts_of(item: ItemRow, last: VisitItemRow | None, public_address: str) -> LabelFacts:
    standing = judge_standing(ItemState(item.state), item.last_verdict)
    advice = suggest_interval(item.facts, Environment(item.premises.environment))
    return LabelFacts(
        number=item.number,
        address=describe_label_address(public_address, item.customer_id, item.number),
        description=item.description,
        standing=standing,
        failed=item.last_verdict == Verdict.FAIL,
        tested_on=item.last_tested_on if standing != Standing.NUMBER_ONLY else None,
        initials=last.tested_by.initials if last is not None and last.tested_by is not None else "",
        next_due_on=item.next_due_on if standing == Standing.PASS else None,
        looked_at_next=judge_due(advice, item.last_tested_on, item.next_due_on) is FallsDue.VISUAL,
    )
