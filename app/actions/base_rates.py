"""Entering the Bank of England's base rate, and taking out an entry that was wrong."""

from app.actions.deeds import Deed, say_day
from app.rules.base_rates import BaseRateDetails, check_base_rate
from app.rules.verdicts import Mistakes
from app.store.base_rates import BaseRateRow, get_base_rate, list_base_rates


def enter_base_rate(deed: Deed, details: BaseRateDetails) -> BaseRateRow:
    """Enter a rate from a day on. Raises Mistakes."""
    taken = [row.valid_from for row in list_base_rates(deed.session)]
    if mistakes := check_base_rate(details, taken, deed.today):
        raise Mistakes(mistakes)
    row = BaseRateRow(
        valid_from=details.valid_from,
        percent=details.percent,
        source=details.source.strip(),
        entered_at=deed.now,
        entered_by_id=deed.person.id if deed.person else None,
    )
    deed.session.add(row)
    deed.session.flush()
    said = f"{details.percent.normalize():f} % from {say_day(row.valid_from)}, source: {row.source}"
    deed.note("base rate", row.id, f"Entered the base rate of {said}.")
    return row


def remove_base_rate(deed: Deed, base_rate_id: int) -> None:
    """Take out an entry. Claims made with it keep what they say."""
    row = get_base_rate(deed.session, base_rate_id)
    deed.session.delete(row)
    said = f"{row.percent.normalize():f} % from {say_day(row.valid_from)}"
    deed.note("base rate", base_rate_id, f"Removed the base rate of {said}.")
