"""What pages say of the instrument of a visit: what stops its use, what was allowed, and who can do something."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.rules.instrument_allowances import Allowance, may_allow_instrument, may_use_instrument
from app.rules.people import Person
from app.rules.visits import VisitState
from app.store.instruments import list_instruments
from app.store.visit_instruments import list_instrument_worries, list_overdue_checks_of
from app.store.visits import VisitRow

OPEN = (VisitState.BOOKED, VisitState.UNDER_WAY)


@dataclass(frozen=True)
class Fitness:
    """The instrument of a visit that is open, on its day or today, whichever is later.

    worries are what stops its use and overdue what only warns; refusal is the sentence where no allowance stands;
    may_allow: whether this person can allow it now. others are the instruments that could be taken instead.
    """

    worries: tuple[str, ...] = ()
    overdue: tuple[str, ...] = ()
    refusal: str = ""
    may_allow: bool = False
    allowances: tuple[Allowance, ...] = ()
    others: tuple[tuple[str, str], ...] = ()


def show_instrument_of(session: Session, visit: VisitRow, person: Person, today: date) -> Fitness:
    """How the instrument of a visit stands for its pages; of a visit that is over only what was allowed."""
    if visit.state not in OPEN:
        return Fitness(allowances=visit.allowances)
    day = max(visit.booked_on, today)
    worries = list_instrument_worries(session, visit, day)
    refusal = may_use_instrument(visit.instrument_id, worries, visit.allowances) or ""
    may_allow = bool(refusal) and may_allow_instrument(person.role) is None
    overdue = list_overdue_checks_of(session, visit, day)
    others: tuple[tuple[str, str], ...] = ()
    if visit.state == VisitState.UNDER_WAY:
        rows = [row for row in list_instruments(session) if row.active and row.id != visit.instrument_id]
        others = tuple((str(row.id), f"{row.name}, {row.serial}") for row in rows)
    return Fitness(worries, overdue, refusal, may_allow, visit.allowances, others)
