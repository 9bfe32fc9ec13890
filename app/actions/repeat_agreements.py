"""Repeat agreements: agreeing on one, changing or ending it from a day on, and making its visits in advance."""

from datetime import date, timedelta
from typing import Any

from app.actions.deeds import Deed, Desk, check_version, say_day
from app.rules.intervals import next_due
from app.rules.prices import convert_agreement
from app.rules.repeats import AHEAD_MONTHS, Repeat, WantedState, check_repeat, list_repeat_days
from app.rules.verdicts import Mistakes, Refused
from app.store.people import get_person
from app.store.premises import get_premises
from app.store.prices import find_price_agreement
from app.store.wanted_visits import (
    RepeatAgreementRow,
    WantedVisitRow,
    get_repeat_agreement,
    list_repeat_agreements,
    list_wanted_of,
)

ENDED = "The repeat agreement ended."


def agree_repeat(
    deed: Deed, premises_id: int, repeat: Repeat, keep_prices: bool = True, follows_id: int | None = None
) -> RepeatAgreementRow:
    """Agree on visits every so many months and make those of the time ahead. Raises Mistakes.

    keep_prices: visits of it are invoiced by the prices that hold today, whatever is agreed later.
    """
    premises = get_premises(deed.session, premises_id)
    mistakes = check_repeat(repeat)
    if repeat.technician_id is not None and not get_person(deed.session, repeat.technician_id).active:
        mistakes["technician_id"] = "Choose somebody who works here."
    if repeat.first_on < deed.today:
        mistakes["first_on"] = "The first visit cannot be wanted for a day that is over."
    prices = _prices(deed, premises.customer_id) if keep_prices else None
    if keep_prices and prices is None:
        mistakes["keep_prices"] = "No prices hold today, so none can be kept."
    if mistakes:
        raise Mistakes(mistakes)
    row = RepeatAgreementRow(
        customer_id=premises.customer_id,
        premises_id=premises.id,
        prices=prices,
        follows_id=follows_id,
        made_at=deed.now,
        made_by_id=deed.doer.id,
        **vars(repeat),
    )
    deed.session.add(row)
    deed.session.flush()
    deed.note(
        "repeat agreement",
        row.id,
        f"Agreed on a visit to {premises.customer.name}, {premises.name} every {repeat.every_months} months from"
        f" {say_day(repeat.first_on)}.",
    )
    _want(deed, row)
    return row


def end_repeat(
    deed: Deed, agreement_id: int, last_day: date, reason: str, version: int | None = None
) -> RepeatAgreementRow:
    """End an agreement with a day. What it wanted later and nobody has booked is dropped. Raises Mistakes."""
    row = get_repeat_agreement(deed.session, agreement_id, locked=True)
    check_version(row, version, "this agreement")
    if row.ends_on is not None and row.ends_on < deed.today:
        raise Refused("This agreement has ended already.")
    mistakes = {}
    if not reason.strip():
        mistakes["reason"] = "Say why it ends."
    if last_day < deed.today - timedelta(days=1):
        mistakes["last_day"] = "This day is over."
    if mistakes:
        raise Mistakes(mistakes)
    row.ends_on, row.end_reason = last_day, reason.strip()
    for wanted in list_wanted_of(deed.session, row.id):
        late = wanted.wanted_on is not None and wanted.wanted_on > last_day
        if late and wanted.state == WantedState.WAITING:
            wanted.state, wanted.state_reason = WantedState.DROPPED.value, ENDED
    deed.session.flush()
    deed.note("repeat agreement", row.id, f"Ended with {say_day(last_day)}: {reason.strip()}")
    return row


def change_repeat(
    deed: Deed, agreement_id: int, repeat: Repeat, keep_prices: bool = True, version: int | None = None
) -> RepeatAgreementRow:
    """Put another agreement in the place of one from its first visit on. Raises Mistakes."""
    old = get_repeat_agreement(deed.session, agreement_id, locked=True)
    end_repeat(deed, old.id, repeat.first_on - timedelta(days=1), "Changed from that day on.", version)
    return agree_repeat(deed, old.premises_id, repeat, keep_prices, follows_id=old.id)


def make_wanted_visits(desk: Desk) -> int:
    """Make the visits that agreements want in the time ahead, each once; how many were made."""
    with desk.doing(None) as deed:
        ids = [row.id for row in list_repeat_agreements(deed.session)]
        return sum(_want(deed, get_repeat_agreement(deed.session, agreement_id, locked=True)) for agreement_id in ids)


def _want(deed: Deed, row: RepeatAgreementRow) -> int:
    until = next_due(deed.today, AHEAD_MONTHS) or deed.today
    known = {wanted.wanted_on for wanted in list_wanted_of(deed.session, row.id)}
    new = [day for day in list_repeat_days(row.details, until) if day not in known]
    for day in new:
        deed.session.add(
            WantedVisitRow(
                premises_id=row.premises_id,
                repeat_agreement_id=row.id,
                wanted_on=day,
                technician_id=row.technician_id,
                minutes=row.minutes,
                note=row.note,
                made_at=deed.now,
            )
        )
    deed.session.flush()
    return len(new)


def _prices(deed: Deed, customer_id: int) -> dict[str, Any] | None:
    held = find_price_agreement(deed.session, customer_id, deed.today)
    return convert_agreement(held.facts) if held is not None else None
