"""The outbox in a real process: sent by its thread, and killed after the server took a message, before we noted it."""

import time
from collections.abc import Callable
from pathlib import Path
from queue import Queue

from app.actions import certificates, mail_servers, mail_topics
from app.main import new_desk
from app.rules.mail_texts import MailText
from app.rules.mails import MailServerDetails, Security
from app.settings import Settings
from app.store.mails import get_mail
from app.store.migrate import upgrade
from tests.cast import make_world
from tests.finished_visits import work_through
from tests.mail_catcher import mail_server
from tests.mail_topics import about_visit
from tests.servers import RunningApp, running_app


def wait_for(what: Callable[[], bool]) -> bool:
    """Whether it came true; given up after a minute, which no run comes near."""
    give_up_at = time.monotonic() + 60
    while time.monotonic() < give_up_at:
        if what():
            return True
        time.sleep(0.05)
    return False


def test_killed_between_it_is_sent_again_and_says_that_it_may_be_twice(tmp_path: Path) -> None:
    settings = Settings(data_folder=tmp_path / "data")
    settings.data_folder.mkdir()
    desk = new_desk(settings)
    upgrade(desk.database.engine)
    world = make_world(desk)
    work_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)

    def state() -> str:
        with desk.reading_only() as session:
            return get_mail(session, mail_id).word

    with mail_server() as caught:
        with desk.doing(world.owner) as deed:
            details = MailServerDetails("127.0.0.1", caught.port, Security.NONE, "", "office@tarn-alder.example")
            mail_servers.change_mail_server(deed, desk.keys_folder, details, "", None)
            text = MailText("Papers", "See {link}")
            mail_id = mail_topics.put_in_outbox(deed, about_visit(world), "ada@example.com", text).id
        started: Queue[RunningApp] = Queue()
        # The message may come before this test hears that the app is there.
        caught.on_data = lambda: started.get(timeout=60).process.kill()
        with running_app(settings.data_folder) as app:
            started.put(app)
            assert wait_for(lambda: app.process.poll() is not None)
        assert len(caught.messages) == 1 and state() == "being sent"
        caught.on_data = lambda: None
        with running_app(settings.data_folder):
            assert wait_for(lambda: state() == "may have been sent twice")
    first, second = caught.messages
    assert first["Message-ID"] == second["Message-ID"]
    papers = [next(message.iter_attachments()).get_content() for message in (first, second)]
    assert papers[0] == papers[1]
    desk.database.close()
