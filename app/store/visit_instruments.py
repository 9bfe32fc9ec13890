"""What stands against the instrument of a visit on a day."""

from datetime import date

from sqlalchemy.orm import Session

from app.rules.instrument_standings import list_worries
from app.store.reference_checks import facts_of_standing
from app.store.visits import VisitRow


def list_instrument_worries(session: Session, visit: VisitRow, on: date) -> tuple[str, ...]:
    """What stops the use of the visit's instrument on a day, whether or not the owner has allowed it."""
    return list_worries(facts_of_standing(session, visit.instrument), on)
