"""Setting and ending house limits. A visit keeps those it began with."""

from app.actions.deeds import Deed, columns_of, say_day
from app.rules.checks import Check
from app.rules.house_limits import HouseLimitDetails, check_house_limit
from app.rules.quantities import Unit
from app.rules.rulebooks import RULEBOOKS, Figure
from app.rules.verdicts import Mistakes, Refused
from app.store.customers import get_customer
from app.store.house_limits import HouseLimitRow, get_house_limit

#: How the keys of a check's limits begin in a rulebook.
KEYS = {
    Check.INSULATION_RESISTANCE: "insulation.",
    Check.PROTECTIVE_CONDUCTOR_CURRENT: "current.",
    Check.TOUCH_CURRENT: "current.",
    Check.SUBSTITUTE_LEAKAGE_CURRENT: "current.",
    Check.MICROWAVE_LEAKAGE: "microwave",
}


def set_house_limit(deed: Deed, details: HouseLimitDetails) -> HouseLimitRow:
    """Set a house limit. Raises Mistakes, also for one that no rulebook's limit is looser than."""
    if details.customer_id is not None:
        get_customer(deed.session, details.customer_id)
    figures = [figure for book in RULEBOOKS.values() for figure in book.figures if _is_limit(figure, details)]
    pairs = [(figure.value, figure.unit) for figure in figures if isinstance(figure.unit, Unit)]
    if mistakes := check_house_limit(details, pairs):
        raise Mistakes(mistakes)
    row = HouseLimitRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    word = "at least" if details.check is Check.INSULATION_RESISTANCE else "at most"
    said = f"{details.check.word}: {word} {details.value:f} {details.unit.symbol}"
    deed.note("house limit", row.id, f"Set the house limit {said} from {say_day(details.valid_from)}: {details.reason}")
    return row


def end_house_limit(deed: Deed, house_limit_id: int) -> HouseLimitRow:
    """End a house limit: visits started from today on are judged without it."""
    row = get_house_limit(deed.session, house_limit_id)
    if row.ended_on is not None:
        raise Refused("This house limit has ended already.")
    row.ended_on = deed.today
    deed.note("house limit", row.id, f"Ended the house limit for the {Check(row.check).word}.")
    return row


def _is_limit(figure: Figure, details: HouseLimitDetails) -> bool:
    start = KEYS.get(details.check)
    unit = figure.unit.dimension if isinstance(figure.unit, Unit) else ""
    return start is not None and figure.key.startswith(start) and unit == details.unit.dimension
