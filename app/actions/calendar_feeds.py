"""Making the secret address of a calendar feed, taking it back, and writing what it gives. The token is shown once."""

import secrets
from dataclasses import replace
from datetime import timedelta

from app.actions.deeds import Deed, Desk, say_day
from app.actions.people import hash_of
from app.documents.calendars import feed_from
from app.rules.bookings import describe_time, parse_start
from app.rules.calendars import PAST_DAYS, TOKEN_BYTES, CalendarVisit, describe_visit
from app.rules.held_days import HeldDay
from app.rules.people import Role
from app.rules.verdicts import Refused
from app.rules.visits import VisitState
from app.store.calendar_feeds import (
    CalendarFeedRow,
    find_calendar_feed,
    get_calendar_feed,
    list_calendar_feeds,
    list_calendar_visits,
)
from app.store.firms import get_firm
from app.store.people import get_person
from app.store.visits import VisitRow


def make_calendar_feed(deed: Deed, person_id: int | None) -> str:
    """Make the address of a feed of one person's visits, or of the firm's, anew; gives its token.

    An earlier address of the same feed is withdrawn. Technicians make their own alone.
    """
    _check_own(deed, person_id)
    whose = get_person(deed.session, person_id).name if person_id is not None else "the firm"
    for row in list_calendar_feeds(deed.session):
        if row.person_id == person_id:
            row.withdrawn_at = deed.now
    token = secrets.token_urlsafe(TOKEN_BYTES)
    made = CalendarFeedRow(person_id=person_id, token_hash=hash_of(token), made_at=deed.now, made_by_id=deed.doer.id)
    deed.session.add(made)
    deed.session.flush()
    deed.note("calendar feed", made.id, f"Made an address for the calendar of {whose}.")
    return token


def withdraw_calendar_feed(deed: Deed, feed_id: int) -> None:
    """Take the address of a feed back; it is dead from the next request on."""
    row = get_calendar_feed(deed.session, feed_id, locked=True)
    _check_own(deed, row.person_id)
    if row.withdrawn_at is not None:
        raise Refused("This address is withdrawn already.")
    row.withdrawn_at = deed.now
    deed.note("calendar feed", row.id, "Withdrew the address of a calendar.")


def read_calendar_feed(desk: Desk, token: str) -> bytes | None:
    """What a calendar gets at a secret address; nothing where the address is not known or was withdrawn."""
    with desk.doing(None) as deed:
        row = find_calendar_feed(deed.session, hash_of(token))
        if row is None:
            return None
        row.read_at = deed.now
        visits = list_calendar_visits(deed.session, desk.today - timedelta(days=PAST_DAYS), row.person_id)
        firm = get_firm(deed.session).name
        name = f"{firm}: {row.person.name}" if row.person is not None else firm
        told = [day for visit in visits for day in describe_for_firm(visit, desk.public_address)]
    return feed_from(name, told, desk.zone)


def describe_for_firm(visit: VisitRow, public_address: str) -> list[CalendarVisit]:
    """A visit as the firm's own people see it in their calendars: one event for each of its days."""
    state = f"{visit.state}: {visit.state_reason}" if visit.state_reason else visit.state
    page = f"{public_address}/visits/{visit.id}"
    note = describe_visit(visit.technician.name, visit.note, visit.premises.access_notes, page, state)
    whole = describe_visit_at(visit, f"{visit.premises.name}, {visit.premises.customer.name}", note)
    if visit.last_on is None:
        return [whole]
    many = len(visit.held)
    return [
        replace(
            whole,
            # The first day keeps the UID of the visit; in a feed no two events may share one.
            uid=whole.uid if number == 1 else f"{whole.uid}-{number}",
            day=each.day,
            starts=None if each.start is None else parse_start(each.start),
            minutes=each.minutes,
            title=f"{whole.title} (day {number} of {many})",
            until=None,
        )
        for number, each in enumerate(visit.held, 1)
    ]


def describe_visit_at(visit: VisitRow, title: str, description: str) -> CalendarVisit:
    """A visit for a calendar, with the number of its changes as SEQUENCE (RFC 5545, 3.8.7.4).

    One of several days is an event of whole days from the first to the last, since an invitation holds one event
    (RFC 5546, 3.2.2); its days and times are told in words.
    """
    if visit.last_on is not None:
        spans = (f"{each.day:%A} {say_day(each.day)}{_hours(each)}" for each in visit.held)
        description = "\n".join([description, *spans])
    address = [*visit.premises.address.splitlines(), visit.premises.postcode]
    return CalendarVisit(
        uid=visit.uid,
        sequence=visit.version - 1,
        day=visit.booked_on,
        starts=visit.booked_time if visit.last_on is None else None,
        minutes=visit.minutes,
        cancelled=visit.state == VisitState.CANCELLED,
        title=title,
        place=", ".join(line.strip() for line in address if line.strip()),
        description=description,
        changed_at=visit.booking_changed_at,
        until=visit.last_on,
    )


def _hours(held: HeldDay) -> str:
    if held.start is None:
        return ""
    return f", {describe_time(held.start)} to {describe_time(held.start + held.minutes)}"


def _check_own(deed: Deed, person_id: int | None) -> None:
    if deed.doer.role == Role.TECHNICIAN and person_id != deed.doer.id:
        raise Refused("You can make the address of your own calendar only.")
