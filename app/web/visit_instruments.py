"""What pages say of the instrument of a visit: what stops its use, what was allowed, and who can do something."""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy.orm import Session

from app.rules.instrument_allowances import Allowance, may_allow_instrument, may_use_instrument
from app.rules.instrument_standings import Standing, list_overdue_checks, list_worries
from app.rules.people import Person
from app.rules.visits import VisitState
from app.store.instruments import list_instruments
from app.store.reference_checks import facts_of_standing
from app.store.visits import VisitRow

OPEN = (VisitState.BOOKED, VisitState.UNDER_WAY)


@dataclass(frozen=True)
class Fitness:
    """The instrument of a visit that is open, on its day or today, whichever is later.

    worries are what stops its use, later what will stop it before the last day of the visit, and overdue what only
    warns; refusal is the sentence where no allowance stands; may_allow: whether this person can allow it now.
    """

    worries: tuple[str, ...] = ()
    later: tuple[str, ...] = ()
    overdue: tuple[str, ...] = ()
    refusal: str = ""
    may_allow: bool = False
    allowances: tuple[Allowance, ...] = ()


def show_fitness(visit: VisitRow, standing: Standing, person: Person, today: date) -> Fitness:
    """How the instrument of a visit stands for its pages; of a visit that is over only what was allowed."""
    if visit.state not in OPEN:
        return Fitness(allowances=visit.allowances)
    day = max(visit.booked_on, today)
    worries, at_the_end = list_worries(standing, day), list_worries(standing, max(visit.until, day))
    later = tuple(each for each in at_the_end if each not in worries)
    refusal = may_use_instrument(visit.instrument_id, worries, visit.allowances) or ""
    unsettled = may_use_instrument(visit.instrument_id, at_the_end, visit.allowances) is not None
    may_allow = unsettled and may_allow_instrument(person.role) is None
    return Fitness(worries, later, list_overdue_checks(standing, day), refusal, may_allow, visit.allowances)


def show_fitness_of(session: Session, visit: VisitRow, person: Person, today: date) -> Fitness:
    """How the instrument of one visit stands."""
    return show_fitness(visit, facts_of_standing(session, visit.instrument), person, today)


def show_expiry(visit: VisitRow, standing: Standing) -> tuple[str, str]:
    """The last day for which the instrument's calibration holds, and what is to be said after it; nothing where it has
    none, or where the owner has allowed that too.
    """
    if standing.good_until is None:
        return "", ""
    after = list_worries(standing, standing.good_until + timedelta(days=1))
    refusal = may_use_instrument(visit.instrument_id, after, visit.allowances) or ""
    return (standing.good_until.isoformat(), refusal) if refusal else ("", "")


def list_other_instruments(session: Session, visit: VisitRow) -> list[tuple[str, str]]:
    """The instruments that could be taken instead at a visit that is not over, for a choice."""
    if visit.state not in OPEN:
        return []
    rows = [row for row in list_instruments(session) if row.active and row.id != visit.instrument_id]
    return [(str(row.id), f"{row.name}, {row.serial}") for row in rows]
