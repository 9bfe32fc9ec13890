"""Papers that are being drawn now: one drawing a paper, in a thread of its own where nobody waits for its end.

What is known of a drawing is gone with the process; the paper itself stays pending in the database and is drawn again.
"""

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from app.actions.deeds import Desk
from app.rules.verdicts import Refused

KEPT_SECONDS = 600  # so long an ended drawing is remembered, for the page that asks how it went
log = logging.getLogger("ohmstead")
Tell = Callable[[float], None]


@dataclass
class Drawing:
    """One drawing: how much of it is done, from 0 to 1, and why it failed if it did."""

    done: float = 0.0
    problem: str = ""
    ended_at: float | None = None
    raised: Exception | None = None
    _over: threading.Event = field(default_factory=threading.Event)

    @property
    def under_way(self) -> bool:
        return self.ended_at is None

    def tell(self, done: float) -> None:
        """Say how much is done; it never goes back."""
        self.done = max(self.done, min(done, 1.0))

    def wait(self, seconds: float | None) -> None:
        """Wait for the end, at most so long; raises what the drawing raised."""
        if self._over.wait(seconds) and self.raised is not None:
            raise self.raised

    def run(self, work: Callable[[Tell], None]) -> None:
        """Do the work and remember how it ended."""
        try:
            work(self.tell)
        except Refused as refused:
            self.problem, self.raised = refused.sentence, refused
        except Exception as wrong:
            self.problem, self.raised = "The paper could not be made; the log of the program says why.", wrong
        finally:
            self.ended_at = time.monotonic()
            self._over.set()


_lock = threading.Lock()
_drawings: dict[tuple[str, str, int], Drawing] = {}


def begin_drawing(
    desk: Desk, paper: str, paper_id: int, work: Callable[[Tell], None], patience: float | None = None
) -> Drawing:
    """Do the work that draws a paper, unless it is being done; then wait for that one.

    patience: seconds to wait for the end before it goes on by itself; None: until it is over. Raises what the work
    raised in that time.
    """
    drawing, mine = _join(desk, paper, paper_id)
    if mine and patience is None:
        drawing.run(work)
    elif mine:
        threading.Thread(target=_alone, args=(drawing, work, paper, paper_id), name="drawing", daemon=True).start()
    drawing.wait(patience)
    return drawing


def watch_drawing(desk: Desk, paper: str, paper_id: int) -> Drawing | None:
    """The drawing of a paper, under way or lately ended, or nothing."""
    with _lock:
        return _drawings.get((desk.database.url, paper, paper_id))


def _join(desk: Desk, paper: str, paper_id: int) -> tuple[Drawing, bool]:
    """The drawing that is under way, or a new one that the caller has to do."""
    key = (desk.database.url, paper, paper_id)
    with _lock:
        long_ago = time.monotonic() - KEPT_SECONDS
        for old in [each for each, known in _drawings.items() if (known.ended_at or long_ago + 1) < long_ago]:
            del _drawings[old]
        known = _drawings.get(key)
        if known is not None and known.under_way:
            return known, False
        _drawings[key] = Drawing()
        return _drawings[key], True


def _alone(drawing: Drawing, work: Callable[[Tell], None], paper: str, paper_id: int) -> None:
    drawing.run(work)
    if drawing.raised is not None:
        log.error("%s %s was not drawn", paper, paper_id, exc_info=drawing.raised)
