"""Readings that drift from visit to visit, and what people of the demo decided about intervals, with their reasons."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from app.actions.deeds import Deed
from app.actions.intervals import decide_intervals
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.failure_rates import judge_failure_rate
from app.rules.interval_decisions import IntervalDecision, parse_answers
from app.rules.quantities import Reading
from app.store.evidence import list_failure_counts
from app.store.intervals import list_items_alike
from app.store.readings import VisitItemRow
from demo_data.files import read_toml


class Drifts:
    """The first item of its kind at a premises takes the next value of its list at every visit."""

    def __init__(self) -> None:
        self.told = {(each["premises"], each["item"]): each for each in read_toml("drifts.toml")["drifts"]}
        self.item_ids: dict[tuple[str, str], int] = {}
        self.visits: dict[int, int] = {}

    def value_for(self, row: VisitItemRow, premises: str) -> tuple[Check, Decimal] | None:
        """The check and value of this visit, or nothing for an item that does not drift. To be asked once a visit."""
        told = self.told.get((premises, row.description))
        if told is None or self.item_ids.setdefault((premises, row.description), row.item_id) != row.item_id:
            return None
        place = self.visits[row.item_id] = self.visits.get(row.item_id, -1) + 1
        return Check(told["check"]), Decimal(told["values"][min(place, len(told["values"]) - 1)])


def drift_entries(entries: list[Entry], drift: tuple[Check, Decimal]) -> list[Entry]:
    """Put the drifting value in place of the invented one."""
    check, value = drift
    return [
        replace(entry, reading=Reading(value, entry.reading.unit)) if entry.check == check and entry.reading else entry
        for entry in entries
    ]


def list_demo_decisions(today: date) -> list[tuple[date, dict[str, Any]]]:
    """The decisions with their days, the oldest first."""
    told = read_toml("drifts.toml")["decisions"]
    return sorted(((today - timedelta(days=each["days_ago"]), each) for each in told), key=lambda each: each[0])


def decide_in_demo(deed: Deed, told: dict[str, Any], customer_id: int, type_id: int) -> None:
    """Decide the interval of all items of a kind at a customer, or at one of its premises."""
    rows = list_items_alike(deed.session, customer_id, type_id, told["environment"])
    rows = [row for row in rows if row.premises.name == told.get("premises", row.premises.name)]
    since = deed.today - timedelta(days=round(365.25 * 3))
    counts = list_failure_counts(deed.session, since, customer_id, type_id, told["environment"])
    evidence = judge_failure_rate(counts[0].failed_items, counts[0].items).sentence if counts else ""
    decision = IntervalDecision(told["months"], told["reason"], parse_answers(told["answers"]), evidence)
    decide_intervals(deed, {row.id: row.version for row in rows}, decision)
