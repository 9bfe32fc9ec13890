"""Booking, starting, finishing and cancelling visits, and adding items to one under way."""

from app.actions.deeds import Deed, check_version, columns_of, fill, say_day
from app.actions.held_times import hold_time
from app.actions.visit_instruments import allow_instrument, check_instrument_fit
from app.rules.items import ItemState
from app.rules.quantities import describe_number
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import LEAD_MOST, Booking, Method, VisitState, may_finish, may_move, may_reopen
from app.store.equipment_types import facts_columns
from app.store.firms import get_firm
from app.store.instruments import get_instrument
from app.store.items import ItemRow, get_item, list_items_served
from app.store.judgings import facts_for_judging_on
from app.store.people import get_person
from app.store.premises import get_premises
from app.store.readings import VisitItemRow, count_progress, find_visit_item, list_visit_items
from app.store.visit_instruments import list_instrument_worries
from app.store.visits import VisitRow, get_visit


def book_visit(deed: Deed, booking: Booking, allow_reason: str = "") -> VisitRow:
    """Book a visit. Raises Mistakes. An instrument that is not fit on that day can be booked, and the visit then waits
    for a calibration or for the owner; allow_reason is the owner's, who allows it at once.
    """
    premises = get_premises(deed.session, booking.premises_id)
    _check_booking(deed, booking)
    row = VisitRow(
        **columns_of(booking) | hold_time(deed, booking),
        customer_id=premises.customer_id,
        rulebook_id=get_firm(deed.session).rulebook_id,
    )
    deed.session.add(row)
    deed.session.flush()
    _allow_at_booking(deed, row, allow_reason)
    deed.note("visit", row.id, f"Booked {premises.customer.name}, {premises.name} for {_say_days(row)}.")
    return row


def change_booking(
    deed: Deed, visit_id: int, booking: Booking, version: int | None = None, allow_reason: str = ""
) -> VisitRow:
    """Change a visit that has not started. Raises Mistakes. allow_reason is as for a new booking."""
    row = get_visit(deed.session, visit_id)
    check_version(row, version, "this visit")
    if row.state != VisitState.BOOKED:
        raise Refused("Only a visit that has not started can be changed.")
    if booking.premises_id != row.premises_id:
        raise Refused("A booking keeps its premises. Cancel this one and book another.")
    _check_booking(deed, booking)
    times = hold_time(deed, booking, row)
    fill(row, booking)
    for name, value in times.items():
        setattr(row, name, value)
    deed.session.flush()
    deed.session.expire(row, ["instrument", "technician"])
    _allow_at_booking(deed, row, allow_reason)
    deed.note("visit", row.id, f"Changed the booking: {_say_days(row)}.")
    return row


def start_visit(deed: Deed, visit_id: int, allow_reason: str = "") -> VisitRow:
    """Start a visit: put the items that it serves on its list, and fix the rulebook it is judged by.

    Refuses an instrument that is not fit for use unless the owner has allowed it, or does so now with allow_reason.
    """
    row = get_visit(deed.session, visit_id)
    if sentence := may_move(VisitState(row.state), VisitState.UNDER_WAY):
        raise Refused(sentence)
    if row.booked_on > deed.today:
        raise Refused(f"This visit is booked for {say_day(row.booked_on)}. Change the booking to start it today.")
    if allow_reason.strip() and list_instrument_worries(deed.session, row, deed.today):
        allow_instrument(deed, visit_id, allow_reason)
    check_instrument_fit(deed, row)
    row.state, row.started_at = VisitState.UNDER_WAY.value, deed.now
    fix_judging(deed, row)
    for item in list_items_served(deed.session, row.premises_id, row.due_until):
        _add(deed, row, item)
    deed.session.flush()
    deed.note("visit", row.id, "Started the visit.")
    return row


def change_method(deed: Deed, visit_id: int, method: Method) -> VisitRow:
    """Say how protective conductors are measured at a visit. What is saved already keeps what it was judged by.

    Raises Mistakes.
    """
    row = get_visit(deed.session, visit_id)
    if row.state not in (VisitState.BOOKED, VisitState.UNDER_WAY):
        raise Refused("The visit is over. What it found stands as it was recorded.")
    if method.lead_ohms is not None and not 0 < method.lead_ohms <= LEAD_MOST:
        raise Mistakes({"lead_ohms": f"Give the resistance of the test lead in ohms, at most {LEAD_MOST} Ω."})
    row.lead_ohms, row.both_ways, row.conductor_c = method.lead_ohms, method.both_ways, method.conductor_c
    lead = f"test lead of {describe_number(method.lead_ohms)} Ω to subtract" if method.lead_ohms else "test lead nulled"
    ways = ", d.c. both ways round" if method.both_ways else ""
    warm = f", cords at {describe_number(method.conductor_c)} °C" if method.conductor_c is not None else ""
    deed.note("visit", row.id, f"Protective conductors: {lead}{ways}{warm}.")
    return row


def add_to_visit(deed: Deed, visit_id: int, item_id: int) -> VisitItemRow:
    """Put an item of the same premises on the list of a visit under way; nothing changes when it is there."""
    visit = get_visit(deed.session, visit_id, kept=True)
    if visit.state != VisitState.UNDER_WAY:
        raise Refused("Items are added to a visit while it is under way.")
    item = get_item(deed.session, item_id)
    if item.premises_id != visit.premises_id:
        raise Refused(f"Item {item.number} belongs to {item.premises.name}. Move it here first.")
    if item.state == ItemState.WITHDRAWN:
        raise Refused(f"Item {item.number} is withdrawn.")
    row = find_visit_item(deed.session, visit.id, item.id) or _add(deed, visit, item)
    deed.session.flush()
    return row


def finish_visit(deed: Deed, visit_id: int) -> VisitRow:
    """Finish a visit on which every item has a verdict or a reason why it was not tested."""
    row = get_visit(deed.session, visit_id, locked=True)  # what somebody is saving is counted, or refused after it
    if sentence := may_move(VisitState(row.state), VisitState.FINISHED):
        raise Refused(sentence)
    progress = count_progress(deed.session, row.id)
    if sentence := may_finish(progress):
        raise Refused(sentence)
    if row.reopened_at is None:
        row.finished_on = deed.today
    else:  # a correction is no new supply: the day moves only where something was tested later
        tested = [each.tested_on for each in list_visit_items(deed.session, row.id) if each.tested_on]
        row.finished_on = max([*tested, row.finished_on or deed.today])
    row.state, row.finished_at = VisitState.FINISHED.value, deed.now
    deed.note(
        "visit",
        row.id,
        f"Finished the visit: {progress.passed} passed, {progress.failed} failed, {progress.not_tested} not tested.",
    )
    return row


def reopen_visit(deed: Deed, visit_id: int, reason: str) -> VisitRow:
    """Open a finished visit again for a correction. Raises Mistakes without a reason.

    Issued papers stay as they are; a revised certificate is due once the visit is finished again.
    """
    row = get_visit(deed.session, visit_id, locked=True)
    if row.state == VisitState.FINISHED and not reason.strip():
        raise Mistakes({"reopen_reason": "Say why the visit is reopened; the journal keeps it."})
    if sentence := may_reopen(VisitState(row.state), reason):
        raise Refused(sentence)
    row.state, row.reopened_at, row.reopened_reason = VisitState.UNDER_WAY.value, deed.now, reason.strip()
    deed.note("visit", row.id, f"Reopened the visit: {reason.strip()}")
    deed.session.flush()
    return row


def cancel_visit(deed: Deed, visit_id: int, reason: str) -> VisitRow:
    """Cancel a visit that is not finished. Raises Mistakes without a reason; refuses once something was tested."""
    row = get_visit(deed.session, visit_id, locked=True)
    if sentence := may_move(VisitState(row.state), VisitState.CANCELLED):
        raise Refused(sentence)
    if not reason.strip():
        raise Mistakes({"reason": "Say why the visit is cancelled."})
    if count_progress(deed.session, row.id).done:
        raise Refused("Items have been tested at this visit. Record why the others were not, and finish it.")
    row.state, row.state_reason = VisitState.CANCELLED.value, reason.strip()
    row.booking_changed_at = deed.now
    deed.note("visit", row.id, f"Cancelled the visit: {reason.strip()}")
    return row


def _say_days(row: VisitRow) -> str:
    many = len(row.held)
    days = f" to {say_day(row.until)}, {many} days" if many > 1 else ""
    return f"{say_day(row.booked_on)}{days}"


def _allow_at_booking(deed: Deed, row: VisitRow, reason: str) -> None:
    if reason.strip() and list_instrument_worries(deed.session, row, max(row.until, deed.today)):
        allow_instrument(deed, row.id, reason)


def fix_judging(deed: Deed, row: VisitRow) -> None:
    """Fix what the visit is judged by: the customer's own rulebook and decision rule, else the firm's; house limits."""
    judging = facts_for_judging_on(deed.session, row.customer, deed.today)
    rulebook = judging.rulebook
    row.rulebook_id, row.decision_rule = rulebook.id, judging.rule.value
    row.rulebook_settings = {setting.key: setting.value for setting in rulebook.settings} or None
    row.dielectric_by = judging.dielectric_by
    row.house_limits = [
        {
            "check": limit.check,
            "value": f"{limit.value:f}",
            "unit": limit.unit.value,
            "bound": "at least" if limit.at_least else "at most",
            "reason": limit.reason,
            "since": limit.since,
            "construction": limit.construction or "",
        }
        for limit in rulebook.house
    ]


def _check_booking(deed: Deed, booking: Booking) -> None:
    technician = get_person(deed.session, booking.technician_id)
    if not technician.active:
        raise Mistakes({"technician_id": f"{technician.name} no longer works here."})
    instrument = get_instrument(deed.session, booking.instrument_id)
    if not instrument.active:
        raise Mistakes({"instrument_id": f"{instrument.name} is no longer used."})


def _add(deed: Deed, visit: VisitRow, item: ItemRow) -> VisitItemRow:
    row = VisitItemRow(
        visit_id=visit.id,
        item_id=item.id,
        location_id=item.location_id,
        description=item.description,
        own_checks=item.own_checks,
        **facts_columns(item.facts),
    )
    deed.session.add(row)
    return row
