"""Calendar feeds, read by another parser than the one that writes them: RFC 5545, invitations RFC 5546 and 6047."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import vobject

from app.actions import calendar_feeds, letters, mail_servers, planners, visits
from app.actions.deeds import Desk
from app.actions.planners import Place
from app.documents.calendars import feed_from
from app.rules.calendars import CalendarVisit
from app.rules.mail_texts import MailKind
from app.rules.mails import MailServerDetails, Security
from app.rules.verdicts import Refused
from app.rules.visits import Booking
from app.store.calendar_feeds import find_calendar_feed, list_calendar_feeds
from tests.cast import LONDON, World


def read(content: bytes | None) -> dict[str, vobject.base.Component]:
    """The events of a feed by UID; what the other parser refuses raises."""
    assert content is not None
    text = content.decode()
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))  # RFC 5545, 3.1
    assert text.endswith("END:VCALENDAR\r\n") and "\n" not in text.replace("\r\n", "")
    calendar = vobject.readOne(text)
    calendar.validate(raiseException=True)
    return {event.uid.value: event for event in calendar.contents.get("vevent", [])}


def test_a_feed_follows_its_visits_and_marks_cancelled_ones(desk: Desk, world: World) -> None:
    day = desk.today + timedelta(days=6)
    with desk.doing(world.office) as deed:
        note = "Ask Ø; \\ n,"
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, day, time(9, 30), note, 95)
        visit_id = visits.book_visit(deed, booking).id
        token = calendar_feeds.make_calendar_feed(deed, world.technician.id)
    before = read(calendar_feeds.read_calendar_feed(desk, token))
    assert len(before) == 3  # two of today have no time and are whole days
    whole = [event for event in before.values() if not isinstance(event.dtstart.value, datetime)]
    assert len(whole) == 2 and {event.dtstart.value for event in whole} == {desk.today}
    [(uid, event)] = [each for each in before.items() if each[1] not in whole]
    assert event.dtstart.value.astimezone(UTC) == datetime.combine(day, time(9, 30), LONDON).astimezone(UTC)
    assert event.dtend.value - event.dtstart.value == timedelta(minutes=95)
    assert "Ask Ø; \\ n," in event.description.value and f"/visits/{visit_id}" in event.description.value
    assert event.status.value == "CONFIRMED"
    text = (calendar_feeds.read_calendar_feed(desk, token) or b"").decode()
    assert "£" not in text and "TZID:Europe/London" in text
    with desk.doing(world.office) as deed:
        planners.move_visit(deed, visit_id, Place(day + timedelta(days=1), world.technician.id))
    moved = read(calendar_feeds.read_calendar_feed(desk, token))[uid]
    assert int(moved.sequence.value) > int(event.sequence.value)
    assert moved.dtstart.value.date() == day + timedelta(days=1)
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, visit_id, "Shut for the week")
    gone = read(calendar_feeds.read_calendar_feed(desk, token))[uid]
    assert gone.status.value == "CANCELLED" and int(gone.sequence.value) > int(moved.sequence.value)


def test_a_visit_of_several_days_is_an_event_a_day_and_one_invitation(desk: Desk, world: World) -> None:
    """No two events of a feed share a UID (RFC 5545, 3.8.4.7); an invitation holds one event (RFC 5546, 3.2.2), whose
    DTEND is the day after the last (RFC 5545, 3.6.1)."""
    first = date(2026, 3, 26)  # a Thursday; the clocks go forward on the Sunday after it
    with desk.doing(world.office) as deed:
        both = (world.technician.id, world.instrument_id)
        visit = visits.book_visit(deed, Booking(world.premises_id, *both, first, minutes=3 * 510))
        visit_id, uid = visit.id, visit.uid
        token = calendar_feeds.make_calendar_feed(deed, world.technician.id)
        kind = MailKind.BOOKING
        _, text = letters.write_visit_letter(deed.session, visit, kind, "Bea Holm")
        assert "from Thursday 26 March 2026 to Monday 30 March 2026, 3 working days at 08:30" in text.body
        assert "on from" not in text.body + text.subject and "25 h 30 min" in text.body
        mail_servers.change_mail_server(
            deed, desk.keys_folder, MailServerDetails("127.0.0.1", 25, Security.NONE, "", "a@b.example"), "", None
        )
        mail = letters.send_visit_letter(deed, desk, visit_id, kind, "ada@example.com", text)
        [sent] = read(mail.invitation.encode()).values()
    assert sent.uid.value == uid and "Friday 27 March 2026, 08:30 to 17:00" in sent.description.value
    assert (sent.dtstart.value, sent.dtend.value) == (first, date(2026, 3, 31))
    events = read(calendar_feeds.read_calendar_feed(desk, token))
    told = [event for each, event in events.items() if each.startswith(uid)]
    days = [first, date(2026, 3, 27), date(2026, 3, 30)]
    assert [event.dtstart.value for event in told] == [datetime.combine(day, time(8, 30), LONDON) for day in days]
    assert {event.dtend.value - event.dtstart.value for event in told} == {timedelta(minutes=510)}
    assert len({event.uid.value for event in told}) == 3 and "day 2 of 3" in told[1].summary.value
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, visit_id, "The mill is shut")
    events = read(calendar_feeds.read_calendar_feed(desk, token))
    assert [event.status.value for each, event in events.items() if each.startswith(uid)] == ["CANCELLED"] * 3


@pytest.mark.parametrize(
    ("day", "starts", "utc"),
    [
        (date(2026, 3, 28), time(9), 9),  # the clocks go forward on the last Sunday of March (Summer Time Act 1972)
        (date(2026, 3, 30), time(9), 8),
        (date(2026, 10, 24), time(9), 8),
        (date(2026, 10, 26), time(9), 9),
    ],
)
def test_times_are_those_of_the_wall_on_both_sides_of_the_change(day: date, starts: time, utc: int) -> None:
    visit = CalendarVisit("u", 0, day, starts, 60, False, "T", "P", "D")
    [event] = read(feed_from("Mill", [visit], LONDON)).values()
    assert event.dtstart.value.astimezone(UTC).hour == utc and event.dtstart.value.hour == 9


def test_a_visit_over_the_night_of_the_change_lasts_as_long_as_it_is_held() -> None:
    visit = CalendarVisit("u", 0, date(2026, 3, 29), time(0, 30), 120, False, "T", "P", "D")
    [event] = read(feed_from("Mill", [visit], LONDON)).values()
    lasts = event.dtend.value.astimezone(UTC) - event.dtstart.value.astimezone(UTC)
    assert lasts == timedelta(minutes=120)


def test_an_address_made_anew_ends_the_first_and_technicians_make_their_own(desk: Desk, world: World) -> None:
    with desk.doing(world.technician) as deed:
        first = calendar_feeds.make_calendar_feed(deed, world.technician.id)
        with pytest.raises(Refused):
            calendar_feeds.make_calendar_feed(deed, None)
    with desk.doing(world.owner) as deed:
        second = calendar_feeds.make_calendar_feed(deed, world.technician.id)
        firm = calendar_feeds.make_calendar_feed(deed, None)
    assert calendar_feeds.read_calendar_feed(desk, first) is None
    assert len(read(calendar_feeds.read_calendar_feed(desk, second))) == 2
    with desk.doing(world.owner) as deed:
        [row] = [each for each in list_calendar_feeds(deed.session) if each.person_id is None]
        assert row.token_hash not in firm and find_calendar_feed(deed.session, firm) is None  # the hash alone is kept
        calendar_feeds.withdraw_calendar_feed(deed, row.id)
    assert calendar_feeds.read_calendar_feed(desk, firm) is None
    assert calendar_feeds.read_calendar_feed(desk, "x" * 43) is None
