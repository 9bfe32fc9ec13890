"""Setting and ending house limits. A visit keeps those it began with."""

from datetime import date

from app.actions.deeds import Deed, columns_of, say_day
from app.rules.checks import Check
from app.rules.house_limits import AT_LEAST, HouseLimitDetails, check_house_limit
from app.rules.verdicts import Mistakes, Refused
from app.store.customers import get_customer
from app.store.house_limits import HouseLimitRow, get_house_limit
from app.store.judgings import list_rulebooks_in_use


def set_house_limit(deed: Deed, details: HouseLimitDetails) -> HouseLimitRow:
    """Set a house limit. Raises Mistakes, also for one that is stricter than none of the rulebooks in use."""
    if details.customer_id is not None:
        get_customer(deed.session, details.customer_id)
    if mistakes := check_house_limit(details, list_rulebooks_in_use(deed.session, details.customer_id)):
        raise Mistakes(mistakes)
    row = HouseLimitRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    word = "at least" if details.check in AT_LEAST else "at most"
    said = f"{details.check.word}: {word} {details.value:f} {details.unit.symbol}"
    deed.note("house limit", row.id, f"Set the house limit {said} from {say_day(details.valid_from)}: {details.reason}")
    return row


def end_house_limit(deed: Deed, house_limit_id: int, ends_on: date | None = None) -> HouseLimitRow:
    """End a house limit: visits started from that day on, today or later, are judged without it. Raises Mistakes; an
    end that has not come yet can be moved.
    """
    row, day = get_house_limit(deed.session, house_limit_id), ends_on or deed.today
    if row.ended_on is not None and row.ended_on <= deed.today:
        raise Refused("This house limit has ended already.")
    if day < deed.today:
        raise Mistakes({"ends_on": "Give today or a later day: visits that have begun keep their limits."})
    row.ended_on = day
    deed.note("house limit", row.id, f"Ended the house limit for the {Check(row.check).word} from {say_day(day)}.")
    return row
