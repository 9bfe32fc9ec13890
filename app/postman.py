"""Sends what waits in the outbox: one thread of the server's process, begun and ended with it."""

import logging
import threading

from app.actions.deeds import Desk
from app.actions.mails import send_waiting_mails, take_up_broken_off_mails
from app.actions.repeat_agreements import make_wanted_visits

LOOK_AGAIN_SECONDS = 15
log = logging.getLogger("ohmstead")


class Postman:
    """Looks into the outbox every few seconds, and at once when woken."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._woken, self._ended = threading.Event(), threading.Event()
        self._thread: threading.Thread | None = None
        self._day = desk.today

    def start(self) -> None:
        """Take up what an earlier process left half-sent, and begin."""
        take_up_broken_off_mails(self.desk)
        self._thread = threading.Thread(target=self._work, name="postman", daemon=True)
        self._thread.start()

    def wake(self) -> None:
        """Look into the outbox now."""
        self._woken.set()

    def end(self, seconds: float = 5) -> None:
        """Stop after the message in hand; one that takes longer is taken up at the next start."""
        self._ended.set()
        self._woken.set()
        if self._thread is not None:
            self._thread.join(seconds)

    def _begin_day(self) -> None:
        """Once a day: what repeat agreements want in the time ahead."""
        if self._day != self.desk.today:
            make_wanted_visits(self.desk)
            self._day = self.desk.today

    def _work(self) -> None:
        while not self._ended.is_set():
            try:
                send_waiting_mails(self.desk)
                self._begin_day()
            except Exception:  # whatever it is, the messages after it are not to wait for a restart
                log.exception("the outbox could not be worked through")
            self._woken.wait(LOOK_AGAIN_SECONDS)
            self._woken.clear()
