"""What pages say of the instrument of a visit: what stops its use, what was allowed, and who can do something."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.rules.instrument_allowances import Allowance, may_allow_instrument, may_use_instrument
from app.rules.instrument_standings import Standing, list_overdue_checks, list_worries
from app.rules.people import Person
from app.rules.visits import VisitState
from app.store.instruments import list_instruments
from app.store.visits import VisitRow

OPEN = (VisitState.BOOKED, VisitState.UNDER_WAY)


@dataclass(frozen=True)
class Fitness:
    """The instrument of a visit that is open, on its day or today, whichever is later.

    worries are what stops its use and overdue what only warns; refusal is the sentence where no allowance stands;
    may_allow: whether this person can allow it now.
    """

    worries: tuple[str, ...] = ()
    overdue: tuple[str, ...] = ()
    refusal: str = ""
    may_allow: bool = False
    allowances: tuple[Allowance, ...] = ()


def show_fitness(visit: VisitRow, standing: Standing, person: Person, today: date) -> Fitness:
    """How the instrument of a visit stands for its pages; of a visit that is over only what was allowed."""
    if visit.state not in OPEN:
        return Fitness(allowances=visit.allowances)
    day = max(visit.booked_on, today)
    worries = list_worries(standing, day)
    refusal = may_use_instrument(visit.instrument_id, worries, visit.allowances) or ""
    may_allow = bool(refusal) and may_allow_instrument(person.role) is None
    return Fitness(worries, list_overdue_checks(standing, day), refusal, may_allow, visit.allowances)


def list_other_instruments(session: Session, visit: VisitRow) -> list[tuple[str, str]]:
    """The instruments that could be taken instead while a visit is under way, for a choice."""
    if visit.state != VisitState.UNDER_WAY:
        return []
    rows = [row for row in list_instruments(session) if row.active and row.id != visit.instrument_id]
    return [(str(row.id), f"{row.name}, {row.serial}") for row in rows]
