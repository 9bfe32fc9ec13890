"""Visits as iCalendar (RFC 5545): a feed for the firm's own people, and an invitation to a customer (RFC 5546)."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, vCalAddress, vText

from app.rules.calendars import REFRESH_HOURS, CalendarVisit, Method, Parties

PRODUCT = "-//Ohmstead//Ohmstead//EN"


def feed_from(name: str, visits: Sequence[CalendarVisit], zone: ZoneInfo) -> bytes:
    """Write a feed: every visit, or each of its days, with its own UID; cancelled ones marked so; the zone in full."""
    calendar = _calendar()
    calendar.add("name", name)  # RFC 7986, 5.1; the second is what older calendars read
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", timedelta(hours=REFRESH_HOURS), parameters={"value": "DURATION"})
    for visit in visits:
        calendar.add_component(_event(visit, zone))
    return _finished(calendar, [visit.day for visit in visits])


def invitation_from(method: Method, visit: CalendarVisit, parties: Parties, zone: ZoneInfo) -> str:
    """Write the calendar object that asks a customer's calendar to take a visit in, or to take it out again."""
    calendar = _calendar()
    calendar.add("method", method.value)
    event = _event(visit, zone)
    event.add("organizer", _address(parties.firm, parties.firm_address), encode=False)
    guest = _address(parties.customer, parties.customer_address)
    guest.params["ROLE"] = vText("REQ-PARTICIPANT")
    guest.params["PARTSTAT"] = vText("NEEDS-ACTION")
    guest.params["RSVP"] = vText("TRUE" if method == Method.REQUEST else "FALSE")
    event.add("attendee", guest, encode=False)
    calendar.add_component(event)
    return _finished(calendar, [visit.day]).decode()


def _calendar() -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    return calendar


def _event(visit: CalendarVisit, zone: ZoneInfo) -> Event:
    event = Event()
    event.add("uid", visit.uid)
    event.add("sequence", visit.sequence)
    event.add("dtstamp", visit.stamp.astimezone(UTC))
    event.add("last-modified", visit.stamp.astimezone(UTC))
    if visit.starts is None:
        event.add("dtstart", visit.day)
        event.add("dtend", (visit.until or visit.day) + timedelta(days=1))
    else:
        begins = datetime.combine(visit.day, visit.starts, zone)
        # By the clock on the wall would be an hour off on the nights when it changes.
        ends = (begins.astimezone(UTC) + timedelta(minutes=visit.length)).astimezone(zone)
        event.add("dtstart", begins)
        event.add("dtend", ends)
    event.add("status", "CANCELLED" if visit.cancelled else "CONFIRMED")
    event.add("transp", "TRANSPARENT" if visit.starts is None or visit.cancelled else "OPAQUE")
    event.add("summary", visit.title)
    event.add("location", visit.place)
    event.add("description", visit.description)
    return event


def _address(name: str, address: str) -> vCalAddress:
    found = vCalAddress(f"mailto:{address}")
    found.params["CN"] = vText(name)
    return found


def _finished(calendar: Calendar, days: Sequence[date]) -> bytes:
    # From the year before: a time zone told from 1970 on is misread by some programs, and as long as all the rest.
    first, last = min(days, default=date(2000, 1, 1)), max(days, default=date(2000, 1, 1))
    calendar.add_missing_timezones(date(first.year - 1, 1, 1), date(last.year + 2, 1, 1))
    written: bytes = calendar.to_ical()
    return written
