"""Letters through a real SMTP server: an invitation with a booking (RFC 6047), the same UID as in the feed, a recall
letter, and what is printed where there is no address.
"""

from datetime import date, time, timedelta

import pytest
import vobject

from app.actions import calendar_feeds, letters, mail_servers, mails, planners, visits
from app.actions.deeds import Desk
from app.actions.planners import Place
from app.rules.mail_texts import MailKind, MailText
from app.rules.mails import MailServerDetails, MailState, Security
from app.rules.planning_settings import PlanningSettings
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.items import get_item
from app.store.letters import list_recalls_due, list_visits_without
from app.store.mails import find_mail_server, get_mail
from app.store.premises import get_premises
from app.store.visits import get_visit
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.mail_catcher import mail_server

FROM = "office@tarn-alder.example"


def set_server(desk: Desk, world: World, port: int) -> None:
    with desk.doing(world.owner) as deed:
        row = find_mail_server(deed.session)
        details = MailServerDetails("127.0.0.1", port, Security.NONE, "", FROM)
        mail_servers.change_mail_server(deed, desk.keys_folder, details, "", row.version if row else None)


@pytest.fixture
def visit_id(desk: Desk, world: World) -> int:
    day = desk.today + timedelta(days=2)
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, day, time(9, 30), minutes=90)
        return visits.book_visit(deed, booking).id


def write(desk: Desk, world: World, visit_id: int, kind: MailKind, printed: bool = False) -> int:
    with desk.doing(world.office) as deed:
        _, text = letters.write_visit_letter(deed.session, get_visit(deed.session, visit_id), kind, "Bea Holm")
        to = "" if printed else "ada@example.com"
        return letters.send_visit_letter(deed, desk, visit_id, kind, to, text, printed).id


def test_an_invitation_goes_moves_and_is_called_off_under_one_uid(desk: Desk, world: World, visit_id: int) -> None:
    with desk.doing(world.owner) as deed:
        token = calendar_feeds.make_calendar_feed(deed, None)
    with mail_server() as caught:
        set_server(desk, world, caught.port)
        write(desk, world, visit_id, MailKind.BOOKING)
        assert mails.send_waiting_mails(desk) == 1
        with desk.doing(world.office) as deed:
            day = get_visit(deed.session, visit_id).booked_on + timedelta(days=1)
            planners.move_visit(deed, visit_id, Place(day, world.technician.id))
        write(desk, world, visit_id, MailKind.BOOKING)
        with desk.doing(world.office) as deed:
            visits.cancel_visit(deed, visit_id, "They are ill")
        write(desk, world, visit_id, MailKind.CALLED_OFF)
        assert mails.send_waiting_mails(desk) == 2
    feed = vobject.readOne((calendar_feeds.read_calendar_feed(desk, token) or b"").decode())
    events = []
    for message, method in zip(caught.messages, ("REQUEST", "REQUEST", "CANCEL"), strict=True):
        body = message.get_body(("plain",))
        assert body is not None and "Joss Alder" in body.get_content() or method == "CANCEL"
        [part] = [each for each in message.walk() if each.get_content_type() == "text/calendar"]
        assert part.get_param("method") == method
        calendar = vobject.readOne(part.get_content())
        assert calendar.method.value == method
        assert calendar.vevent.organizer.value == f"mailto:{FROM}"
        assert calendar.vevent.attendee.value == "mailto:ada@example.com"
        assert "/visits/" not in str(calendar.vevent.description.value)  # nothing of the firm's own pages
        events.append(calendar.vevent)
        assert [each.get_filename() for each in message.iter_attachments()] == ["visit.ics"]
    assert {event.uid.value for event in events} <= {event.uid.value for event in feed.vevent_list}
    assert len({event.uid.value for event in events}) == 1
    numbers = [int(event.sequence.value) for event in events]
    assert numbers == sorted(set(numbers)) and events[2].status.value == "CANCELLED"
    assert events[1].dtstart.value - events[0].dtstart.value == timedelta(days=1)


def test_a_recall_letter_reaches_the_server_and_is_not_asked_for_again(desk: Desk, world: World, clock: Clock) -> None:
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "Booked by mistake")
        get_item(deed.session, world.item_ids[0]).next_due_on = deed.today + timedelta(days=30)
        get_item(deed.session, world.item_ids[1]).next_due_on = deed.today + timedelta(days=80)
        get_item(deed.session, world.item_ids[2]).next_due_on = deed.today + timedelta(days=400)
        [due] = list_recalls_due(deed.session, PlanningSettings(), deed.today)
        assert (due.place.premises_id, due.items, due.first_due_on) == (world.premises_id, 1, date(2026, 4, 3))
        _, text = letters.write_recall(deed.session, get_premises(deed.session, world.premises_id), "Bea", desk)
        assert "2 items at Brackenhow Primary School main site" in text.body and "3 April 2026" in text.body
    with mail_server() as caught:
        set_server(desk, world, caught.port)
        with desk.doing(world.office) as deed:
            own = MailText(text.subject, text.body + "\n\nP.S. We were here last spring.")
            letters.send_recall(deed, desk, world.premises_id, "ada@example.com", own)
        assert mails.send_waiting_mails(desk) == 1
    [message] = caught.messages
    assert message["Subject"] == "Your tests fall due: Brackenhow Primary School main site"
    assert "P.S. We were here last spring." in message.get_content() and caught.recipients == [["ada@example.com"]]
    with desk.doing(world.office) as deed:
        assert list_recalls_due(deed.session, PlanningSettings(), deed.today) == []
        later = deed.today + timedelta(days=40)
        assert [each.written_on for each in list_recalls_due(deed.session, PlanningSettings(), later)] == [deed.today]


def test_without_an_address_the_letter_is_printed(desk: Desk, world: World, visit_id: int) -> None:
    with desk.reading_only() as session:
        visit = get_visit(session, visit_id)
        first, last = visit.booked_on, visit.booked_on
        assert [row.id for row in list_visits_without(session, MailKind.COMING, first, last)] == [visit_id]
    with pytest.raises(Refused):  # there is no server
        write(desk, world, visit_id, MailKind.COMING)
    mail_id = write(desk, world, visit_id, MailKind.COMING, printed=True)
    with desk.reading_only() as session:
        mail = get_mail(session, mail_id)
        assert (mail.state, mail.to_address, mail.invitation) == (MailState.PRINTED, "", "")
        assert list_visits_without(session, MailKind.COMING, first, last) == []
    pages = text_of(letters.draw_letter(desk, mail_id))
    assert "Brackenhow Primary School" in pages and "at 09:30" in pages and "about 1 h 30 min" in pages
    with desk.doing(world.office) as deed, pytest.raises(Refused):
        mails.try_mail_again(deed, mail_id)


def test_what_is_wrong_with_a_letter_is_said_and_nothing_goes(desk: Desk, world: World, visit_id: int) -> None:
    set_server(desk, world, 9)
    for to, text, field in (
        ("", MailText("A", "B"), "to"),
        ("ada@example.com", MailText("A\nBcc: x@example.com", "B"), "subject"),
        ("ada@example.com", MailText("A", "See {link}"), "body"),
        ("ada@example.com", MailText("A", "{nothing of the kind}"), "body"),
    ):
        with pytest.raises(Mistakes) as wrong, desk.doing(world.office) as deed:
            letters.send_visit_letter(deed, desk, visit_id, MailKind.BOOKING, to, text)
        assert field in wrong.value.messages
    assert mails.send_waiting_mails(desk) == 0
    with desk.doing(world.office) as deed, pytest.raises(Refused):
        letters.write_visit_letter(deed.session, get_visit(deed.session, visit_id), MailKind.CALLED_OFF, "Bea")
