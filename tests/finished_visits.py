"""Brings a booked visit to its end: every item looked over and measured, one of them failed where a test wants it."""

from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import leave_item, record_item
from app.rules.checks import Check
from app.rules.entries import Entry
from app.rules.people import Person
from app.rules.quantities import Bound, Reading, Unit
from app.rules.verdicts import Outcome
from app.rules.visits import NotTested
from app.store.readings import list_visit_items
from tests.kept_rows import as_kept

EARTH, INSULATION = Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Check.INSULATION_RESISTANCE
LOOKED_AT = Entry(Check.VISUAL, outcome=Outcome.PASS)
INSULATED = Entry(INSULATION, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE))
WIRED = Entry(Check.POLARITY, outcome=Outcome.PASS)


def earth(value: str) -> Entry:
    return Entry(EARTH, Reading(Decimal(value), Unit.OHM, Bound.EXACT))


#: What is entered for the kettle, the drill and the extension lead of the cast, all of it within the limits.
GOOD = ([LOOKED_AT, earth("0.11"), INSULATED], [LOOKED_AT, INSULATED], [LOOKED_AT, earth("0.12"), WIRED, INSULATED])


def work_through(
    desk: Desk, technician: Person, visit_id: int, entries: tuple[list[Entry], ...] = GOOD, left_out: int | None = None
) -> None:
    """Start a visit, record its items in turn, and finish it. left_out: the place of an item that nobody found."""
    with desk.doing(technician) as deed:
        visits.start_visit(deed, visit_id)
        for place, row in enumerate(list_visit_items(deed.session, visit_id)):
            if place == left_out:
                leave_item(deed, visit_id, row.item_id, NotTested.NOT_FOUND)
            else:
                record_item(deed, visit_id, row.item_id, entries[place])
        visits.finish_visit(deed, visit_id)


def begin_worked_through(
    desk: Desk, technician: Person, visit_id: int, entries: tuple[list[Entry], ...] = GOOD, left_out: int | None = None
) -> None:
    """Begin where a visit of the small firm is worked through: done once a run, then copied (tests/kept_rows.py)."""
    as_kept(desk, work_through, technician, visit_id, entries, left_out)
