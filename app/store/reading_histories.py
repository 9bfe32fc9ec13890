"""What was measured on items over the years, as facts for trends: one question for an item or a whole visit."""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any

from sqlalchemy import Select, and_, func, or_, select
from sqlalchemy.orm import Session

from app.rules.checks import Check
from app.rules.quantities import Bound, Unit, convert_number
from app.rules.reading_histories import SHORTEST, PastReading, ReadingHistory
from app.rules.verdicts import FAILED, Verdict
from app.store.instruments import InstrumentRow
from app.store.readings import ReadingRow, RoundRow, VisitItemRow


def list_reading_histories(
    session: Session, item_ids: Iterable[int], until: date | None = None
) -> list[ReadingHistory]:
    """Every kind of measured reading of some items, in the order in which each was first taken, with what was found
    before the item was put right on the spot. until leaves out what was tested later.
    """
    return _histories(session.execute(_query(until).where(VisitItemRow.item_id.in_(list(item_ids)))), until)


def list_visit_histories(session: Session, visit_id: int, until: date | None = None) -> list[ReadingHistory]:
    """The histories of all items of a visit that are long enough to warn, in one question.

    until leaves out what was tested later, for a paper about a visit of the past.
    """
    on_visit = select(VisitItemRow.item_id).where(VisitItemRow.visit_id == visit_id)
    query = _query(until, ReadingRow.limit_unit != "").where(VisitItemRow.item_id.in_(on_visit))
    return _histories(session.execute(query), until, SHORTEST)


def _query(until: date | None, *only: Any) -> Select[*tuple[Any, ...]]:
    """Columns rather than rows: a visit of 400 items has thousands of readings behind it. Tests without a reading come
    too, since a repair may have come between.
    """
    rounds = (
        select(func.count(RoundRow.id))
        .where(RoundRow.visit_item_id == VisitItemRow.id)
        .correlate(VisitItemRow)
        .scalar_subquery()
    )
    query = (
        select(
            VisitItemRow.id, VisitItemRow.item_id, VisitItemRow.after_repair, VisitItemRow.verdict,
            func.coalesce(RoundRow.tested_on, VisitItemRow.tested_on).label("tested_on"),
            RoundRow.position.label("round"), RoundRow.after_repair.label("round_after"), rounds.label("rounds"),
            ReadingRow.check, ReadingRow.point, ReadingRow.multiple, ReadingRow.phase_deg, ReadingRow.value,
            ReadingRow.unit, ReadingRow.bound, ReadingRow.lead_ohms, ReadingRow.outcome, ReadingRow.at_most,
            ReadingRow.at_least, ReadingRow.limit_unit, ReadingRow.limit_text, InstrumentRow.name, InstrumentRow.serial,
        )
        .outerjoin(
            ReadingRow, and_(ReadingRow.visit_item_id == VisitItemRow.id, ReadingRow.value.is_not(None), *only)
        )
        .outerjoin(RoundRow, ReadingRow.round_id == RoundRow.id)
        .outerjoin(InstrumentRow, ReadingRow.instrument_id == InstrumentRow.id)
        .order_by(
            VisitItemRow.item_id, func.coalesce(RoundRow.tested_on, VisitItemRow.tested_on), VisitItemRow.id,
            func.coalesce(RoundRow.position, 1_000), ReadingRow.position,
        )
    )  # fmt: skip
    if until is not None:
        query = query.where(or_(VisitItemRow.tested_on.is_(None), VisitItemRow.tested_on <= until))
    return query


def _histories(rows: Iterable[Any], until: date | None, fewest: int = 1) -> list[ReadingHistory]:
    groups: dict[tuple[Any, ...], list[tuple[Any, int]]] = {}
    for row, state in _with_states(row for row in rows if row.tested_on and (until is None or row.tested_on <= until)):
        if row.value is not None:
            key = (row.item_id, row.check, row.point, row.multiple, row.phase_deg)
            groups.setdefault(key, []).append((row, state))
    return [_history(group) for group in groups.values() if len(group) >= fewest]


def _with_states(rows: Iterable[Any]) -> Iterator[tuple[Any, int]]:
    """Each row with a number that changes when its item was repaired: put right on the spot, tested after a repair, or
    passed at the next test after it had failed. A repair of one part makes another item of all of it.
    """
    states: dict[int, int] = {}
    failed: dict[int, bool] = {}
    for _, of_test in groupby(rows, key=lambda row: row.id):
        test = list(of_test)
        first = test[0]
        state = states.get(first.item_id, 0)
        after = first.round_after if first.round == 1 else first.after_repair and not first.rounds
        if after or (failed.get(first.item_id) and not first.rounds and first.verdict == Verdict.PASS):
            state += 1
        for row in test:
            yield row, state + (row.rounds if row.round is None else row.round - 1)
        states[first.item_id] = state + first.rounds
        if first.verdict in (Verdict.PASS, Verdict.FAIL):
            failed[first.item_id] = first.verdict == Verdict.FAIL


def _history(rows: list[tuple[Any, int]]) -> ReadingHistory:
    newest = rows[-1][0]
    unit = Unit(next((row.limit_unit for row, _ in reversed(rows) if row.limit_unit), newest.unit))
    before = [rows[0][1], *(state for _, state in rows)]
    past = tuple(_past(row, unit, state != earlier) for (row, state), earlier in zip(rows, before, strict=False))
    return ReadingHistory(
        newest.item_id, Check(newest.check), newest.point, unit, past, newest.at_most, newest.at_least,
        newest.multiple, newest.phase_deg,
    )  # fmt: skip


def _past(row: Any, unit: Unit, repaired: bool) -> PastReading:
    limit = row.at_most if row.at_most is not None else row.at_least
    if limit is not None and row.limit_unit and row.limit_unit != unit:
        limit = convert_number(limit, Unit(row.limit_unit), unit)
    return PastReading(
        row.tested_on, _net(row, unit), Bound(row.bound), row.outcome in FAILED, repaired,
        f"{row.name} {row.serial}" if row.name is not None else "", row.outcome, limit, row.limit_text,
    )  # fmt: skip


def _net(row: Any, unit: Unit) -> Decimal:
    """The value as it was judged, without the test lead, in the unit of the limit."""
    value: Decimal = row.value
    if row.lead_ohms is not None:
        value -= convert_number(row.lead_ohms, Unit.OHM, Unit(row.unit))
    return value if row.unit == unit else convert_number(value, Unit(row.unit), unit)
