"""Readings on their way to a limit: for an item, for its sheet, and for all items of a visit at once."""

from collections.abc import Iterable
from datetime import date

from sqlalchemy.orm import Session

from app.actions.items import interval_months_of
from app.rules.horizons import Horizon, next_horizon
from app.rules.intervals import next_due
from app.rules.items import ItemState
from app.rules.reading_histories import TrendWarning, list_trend_warnings
from app.rules.visits import VisitState
from app.store.items import ItemRow
from app.store.reading_histories import list_reading_histories, list_visit_histories
from app.store.readings import VisitItemRow
from app.store.visits import VisitRow
from app.web.sheet_steps import SheetStep


def list_item_warnings(session: Session, item: ItemRow, horizon: Horizon | None) -> list[TrendWarning]:
    """The warnings of one item."""
    histories = list_reading_histories(session, [item.id])
    return list_trend_warnings(histories, lambda _: horizon).get(item.id, [])


def show_item_horizon(item: ItemRow, due_on: date | None, today: date) -> Horizon | None:
    """Until when an item is followed: nothing is said of one that is withdrawn."""
    return None if item.state == ItemState.WITHDRAWN else next_horizon(due_on, today)


def list_visit_warnings(
    session: Session, visit: VisitRow, rows: Iterable[VisitItemRow]
) -> list[tuple[VisitItemRow, list[TrendWarning]]]:
    """The items of a visit with their warnings, in the order of the visit. One question for all; the next visit is
    worked out only for the few whose line meets its limit at all.
    """
    by_item = {row.item_id: row for row in rows}
    days = [row.tested_on for row in by_item.values() if row.tested_on]
    until = max(days, default=None) if visit.state == VisitState.FINISHED else None
    histories = list_visit_histories(session, visit.id, until)
    found = list_trend_warnings(histories, lambda item_id: show_visit_horizon(by_item[item_id]))
    return [(row, found[row.item_id]) for row in by_item.values() if row.item_id in found]


def show_visit_horizon(row: VisitItemRow) -> Horizon | None:
    """Until when an item is followed from a visit on: to the next as recorded, else as it would fall due."""
    began = row.visit.started_at.date() if row.visit.started_at else row.visit.booked_on
    day = row.tested_on or began
    return show_item_horizon(row.item, row.next_due_on or next_due(day, interval_months_of(row.item)), day)


def list_field_warnings(warnings: Iterable[TrendWarning], steps: Iterable[SheetStep]) -> dict[str, list[str]]:
    """The sentences of warnings by the field of the sheet that they are about: its own, else the first of its check."""
    fields = [field for step in steps for field in step.fields if field.unit is not None]
    found: dict[str, list[str]] = {}
    for warning in warnings:
        alike = [
            field
            for field in fields
            if (field.check, field.multiple, field.phase_deg) == (warning.check, warning.multiple, warning.phase_deg)
        ]
        own = [field for field in alike if field.point == warning.point] or alike
        if own:
            found.setdefault(own[0].name, []).append(warning.sentence)
    return found
