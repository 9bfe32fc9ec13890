"""The states of a visit and the moves between them, and what must be true before each move."""

from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from enum import StrEnum


class VisitState(StrEnum):
    BOOKED = "booked"
    UNDER_WAY = "under way"
    FINISHED = "finished"
    CANCELLED = "cancelled"


MOVES = {
    VisitState.BOOKED: {VisitState.UNDER_WAY, VisitState.CANCELLED},
    VisitState.UNDER_WAY: {VisitState.FINISHED, VisitState.CANCELLED},
    VisitState.FINISHED: set[VisitState](),
    VisitState.CANCELLED: set[VisitState](),
}


class NotTested(StrEnum):
    """Why an item on the list could not be tested."""

    NOT_FOUND = "not found"
    NOT_PRESENTED = "not presented"
    IN_USE = "in use and could not be unplugged"
    REMOVED = "removed from the premises"
    REFUSED = "refused by the customer"
    OTHER = "other"


@dataclass(frozen=True)
class Booking:
    """What is agreed when a visit is booked. minutes: as somebody typed them; None to work them out.

    due_until: it is made for what falls due up to that day and what waits for a test; None: for the whole register.
    days_asked: on how many days it is spread; None: on as many as its length needs.
    """

    premises_id: int
    technician_id: int
    instrument_id: int
    booked_on: date
    booked_time: time | None = None
    note: str = ""
    minutes: int | None = None
    due_until: date | None = None
    days_asked: int | None = None


#: A test lead with more resistance than this is broken or was measured wrongly (ohms; our own bound).
LEAD_MOST = Decimal(5)
#: Between these temperatures in °C the limit of a cord can be worked out for a warm or a cold conductor.
CONDUCTOR_C = (Decimal(5), Decimal(40))


@dataclass(frozen=True)
class Method:
    """How protective conductors are measured at a visit.

    lead_ohms is what is still to be subtracted for the test lead, None where the instrument nulls it; both_ways asks
    for d.c. readings forward and reversed; conductor_c is the temperature of the cords, None to leave it out.
    """

    lead_ohms: Decimal | None = None
    both_ways: bool = False
    conductor_c: Decimal | None = None


@dataclass(frozen=True)
class Progress:
    """How far a visit has come, in items."""

    items: int = 0
    passed: int = 0
    failed: int = 0
    not_tested: int = 0
    incomplete: int = 0
    undecided: int = 0

    @property
    def done(self) -> int:
        return self.passed + self.failed + self.not_tested

    @property
    def left(self) -> int:
        return self.items - self.done


def may_move(state: VisitState, to: VisitState) -> str | None:
    """Say why a visit cannot move from one state to another, or nothing when it can."""
    if to in MOVES[state]:
        return None
    if state == VisitState.FINISHED:
        return "This visit is finished. What it found stands as it was recorded."
    if state == VisitState.CANCELLED:
        return "This visit was cancelled. Book a new one instead."
    return f"A visit that is {state.value} cannot become {to.value}."


def may_reopen(state: VisitState, reason: str) -> str | None:
    """Say why a visit cannot be opened again for a correction, or nothing when it can."""
    if state != VisitState.FINISHED:
        return f"Only a finished visit is reopened; this one is {state.value}."
    if not reason.strip():
        return "Say why the visit is reopened; the journal keeps it."
    return None


def may_finish(progress: Progress) -> str | None:
    """Say what is still open on a visit, or nothing when it can be finished."""
    if progress.items == 0:
        return "There are no items on this visit. Add the items that were tested, or cancel the visit."
    if progress.left == 0:
        return None
    untouched = progress.left - progress.incomplete - progress.undecided
    parts = []
    if untouched:
        parts.append(f"{untouched} not yet looked at")
    if progress.incomplete:
        parts.append(f"{progress.incomplete} with a required check missing")
    if progress.undecided:
        parts.append(f"{progress.undecided} that {'needs' if progress.undecided == 1 else 'need'} a decision")
    return (
        f"{progress.left} of {progress.items} items {'is' if progress.left == 1 else 'are'} still open: "
        f"{', '.join(parts)}. Test them, or record why each was not tested."
    )
