"""Lets papers be drawn in the background while the story of the demo goes on, as a busy office would have it."""

import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from app.actions.deeds import Deed, Desk
from app.actions.drawings import watch_drawing
from app.rules.people import Person


@dataclass(frozen=True)
class DemoDesk(Desk):
    """A desk at which one deed is done after the other.

    A paper is signed and kept by a thread of its own, and a whole visit is one deed here: SQLite would let the thread
    wait for its turn only so long.
    """

    turn: threading.Lock = field(default_factory=threading.Lock, repr=False)

    @contextmanager
    def doing(self, person: Person | None) -> Iterator[Deed]:
        with self.turn, super().doing(person) as deed:
            yield deed

    def at_this_moment(self) -> "DemoDesk":
        """The same desk with its clock stopped: what is begun now is told as of now, whenever it ends."""
        now = self.now
        return replace(self, clock=lambda: now)


@dataclass(frozen=True)
class _Awaited:
    papers: Sequence[tuple[str, int]]
    then: Callable[[], None] | None


class SideWork:
    """The papers that are being drawn, oldest first, and what follows when they are there."""

    def __init__(self, desk: DemoDesk) -> None:
        self._desk = desk
        self._awaited: deque[_Awaited] = deque()

    def follow(self, papers: Sequence[tuple[str, int]], then: Callable[[], None] | None = None) -> None:
        """Remember papers that are being drawn, by the noun and id of their drawing."""
        self._awaited.append(_Awaited(papers, then))

    def catch_up(self, most: int = 0) -> None:
        """Wait until at most so many are being drawn, and do what follows them. Raises what a drawing raised."""
        while len(self._awaited) > most:
            oldest = self._awaited.popleft()
            for noun, paper_id in oldest.papers:
                if (drawing := watch_drawing(self._desk, noun, paper_id)) is not None:
                    drawing.wait(None)
            if oldest.then is not None:
                oldest.then()
