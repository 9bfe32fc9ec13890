"""The instrument of a visit: the owner lets one be used that is not fit, and another is taken while it is under way."""

from app.actions.deeds import Deed, say_day
from app.rules.instrument_allowances import may_allow_instrument, may_use_instrument
from app.rules.people import Role
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.instruments import get_instrument
from app.store.visit_instruments import list_instrument_worries
from app.store.visits import VisitRow, get_visit

OPEN = (VisitState.BOOKED, VisitState.UNDER_WAY)


def allow_instrument(deed: Deed, visit_id: int, reason: str) -> VisitRow:
    """Let the instrument of a visit be used in spite of what stands against it now or on the booked day.

    The owner's deed alone. Raises Mistakes without a reason. It stands for this instrument and for what is known now:
    another failure needs another allowance.
    """
    row = get_visit(deed.session, visit_id)
    if row.state not in OPEN:
        raise Refused("The visit is over. What it found stands as it was recorded.")
    if sentence := may_allow_instrument(deed.doer.role):
        raise Refused(sentence)
    worries = list_instrument_worries(deed.session, row, max(row.until, deed.today))
    if not worries:
        raise Refused(f"Nothing stands against {row.instrument.name}; there is nothing to allow.")
    reason = " ".join(reason.split())
    if not reason:
        raise Mistakes({"allow_reason": "Give the reason; the certificate prints it."})
    told = {
        "instrument_id": str(row.instrument_id),
        "worries": "\n".join(worries),
        "by": deed.doer.name,
        "on": say_day(deed.today),
        "reason": reason,
        "at": deed.now.isoformat(),
    }
    row.instrument_allowances = [*(row.instrument_allowances or ()), told]
    deed.session.flush()
    deed.note("visit", row.id, f"Allowed the use of {row.instrument.name}. {' '.join(worries)} Reason: {reason}")
    return row


def withdraw_allowance(deed: Deed, visit_id: int, place: int) -> VisitRow:
    """Withdraw what was allowed about an instrument, by its place among the allowances of a visit that is open.

    The owner's deed alone. Nothing more is recorded by it; what was measured while it stood is printed with it.
    """
    row = get_visit(deed.session, visit_id)
    if row.state not in OPEN:
        raise Refused("The visit is over. What it found stands as it was recorded.")
    if deed.doer.role != Role.OWNER:
        raise Refused("Only the owner can withdraw what the owner allowed.")
    kept = list(row.instrument_allowances or ())
    if not 0 <= place < len(kept) or not row.allowances[place].stands:
        raise Refused("This is withdrawn already.")
    told = {"withdrawn_by": deed.doer.name, "withdrawn_on": say_day(deed.today), "withdrawn_at": deed.now.isoformat()}
    kept[place] = kept[place] | told
    row.instrument_allowances = kept
    deed.session.flush()
    name = get_instrument(deed.session, row.allowances[place].instrument_id).name
    deed.note("visit", row.id, f"Withdrew the allowance for {name}: {row.allowances[place].reason}")
    return row


def change_instrument(deed: Deed, visit_id: int, instrument_id: int) -> VisitRow:
    """Take another instrument at the door or while a visit is under way. What is recorded already keeps the one it was
    measured with.

    Raises Mistakes for one that is no longer used. One that is not fit can be chosen; recording then waits for the
    owner. Refused before the booked day: what is held then is looked at when a booking is changed.
    """
    row = get_visit(deed.session, visit_id)
    if row.state not in OPEN:
        raise Refused("The visit is over. What it found stands with the instrument that it was measured with.")
    if row.state == VisitState.BOOKED and row.booked_on > deed.today:
        raise Refused(
            f"This visit is booked for {say_day(row.booked_on)}. Change the booking to plan another instrument."
        )
    instrument = get_instrument(deed.session, instrument_id)
    if not instrument.active:
        raise Mistakes({"instrument_id": f"{instrument.name} is no longer used."})
    if instrument.id == row.instrument_id:
        raise Mistakes({"instrument_id": f"{instrument.name} is in use at this visit already."})
    before = row.instrument.name
    row.instrument_id = instrument.id
    deed.session.flush()
    deed.session.expire(row, ["instrument"])
    begun = row.state == VisitState.UNDER_WAY
    sentence = f"{'From now on measured' if begun else 'To be measured'} with {instrument.name} instead of {before}."
    deed.note("visit", row.id, sentence)
    return row


def check_instrument_fit(deed: Deed, row: VisitRow) -> None:
    """Refuse to go on with an instrument that is not fit today, unless the owner has allowed it."""
    worries = list_instrument_worries(deed.session, row, deed.today)
    if sentence := may_use_instrument(row.instrument_id, worries, row.allowances):
        raise Refused(sentence)
