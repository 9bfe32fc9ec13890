"""Draws papers in at most two processes beside the web process: a long one slows no page, a bad one ends nothing else.

A process is started when the first paper is wanted, ended when it has been idle or has drawn enough, and killed when it
takes too long. A drawing is whole or is not there.
"""

import atexit
import contextlib
import logging
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping
from itertools import count
from pathlib import Path
from typing import Any

from app.documents.drawing_process import message_from, read_message_from
from app.rules.verdicts import Refused

PROCESSES = 2
MEMORY_MOST = 3_000_000_000  # bytes of address space; a part of 500 rows takes about a sixth of it
SECONDS_MOST = 300  # for one file; a part of 500 rows takes about ten
DRAWINGS_MOST = 60  # a process that drew so many makes room for a new one, whatever it has kept
IDLE_SECONDS = 300.0

_ROOT = Path(__file__).resolve().parents[2]
log = logging.getLogger("ohmstead")
Told = Callable[[int], None]
_Answer = tuple[dict[str, Any], list[bytes]]


class NotDrawn(Refused):
    """A paper was not drawn. Nothing of it is kept, so it can be tried again."""


class _Process:
    """One process that draws, and its two pipes."""

    def __init__(self, memory: int, seconds: int) -> None:
        self.seconds, self.drawings, self.heard, self.late = seconds, 0, 0, False
        # What a library leaves behind goes with the process, however that ends.
        self.folder = tempfile.mkdtemp(prefix="ohmstead-drawing-")
        self.popen = subprocess.Popen(
            [sys.executable, "-m", "app.documents.drawing_process", str(memory), str(seconds), self.folder],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            cwd=_ROOT,
            start_new_session=True,  # Ctrl-C in the terminal ends the web process, which ends this one
        )

    def draw(self, order: bytes, told: Told) -> _Answer | None:
        """Give the answer, or nothing when the process ended before it had one."""
        assert self.popen.stdin is not None
        assert self.popen.stdout is not None
        self.drawings, self.heard = self.drawings + 1, 0
        clock = threading.Timer(self.seconds, self._end_late)
        clock.daemon = True
        clock.start()
        try:
            self.popen.stdin.write(order)
            self.popen.stdin.flush()
            while (answer := read_message_from(self.popen.stdout)) is not None:
                if "page" not in answer[0]:
                    return answer
                self.heard = answer[0]["page"]
                told(self.heard)
        except (BrokenPipeError, ValueError):
            return None
        finally:
            clock.cancel()
        return None

    def _end_late(self) -> None:
        self.late = True
        self.popen.kill()

    def end(self) -> None:
        """Kill the process; it holds nothing that is not somewhere else."""
        self.popen.kill()
        self.popen.wait()
        self.clear()

    def clear(self) -> None:
        """Close the pipes and remove the temporary files of a process that has ended."""
        self.drop()
        shutil.rmtree(self.folder, ignore_errors=True)

    def drop(self) -> None:
        """Close the pipes."""
        for pipe in (self.popen.stdin, self.popen.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()


class _Places:
    """So many places, taken in turn; what can wait lets everything else go first."""

    def __init__(self, free: int) -> None:
        self._free, self._tickets = free, count()
        self._waiting: list[tuple[bool, int]] = []
        self._changed = threading.Condition()

    @contextlib.contextmanager
    def one(self, can_wait: bool) -> Iterator[None]:
        with self._changed:
            mine = (can_wait, next(self._tickets))
            self._waiting.append(mine)
            self._changed.wait_for(lambda: self._free > 0 and min(self._waiting) == mine)
            self._waiting.remove(mine)
            self._free -= 1
            self._changed.notify_all()
        try:
            yield
        finally:
            with self._changed:
                self._free += 1
                self._changed.notify_all()


class Drawers:
    """The processes that draw: at most so many at once, each one order at a time."""

    def __init__(self, processes: int = PROCESSES, memory: int = MEMORY_MOST, seconds: int = SECONDS_MOST) -> None:
        self._bounds = (memory, seconds)
        self._places = _Places(processes)
        self._lock = threading.Lock()
        self._idle: list[_Process] = []
        self._busy: set[_Process] = set()
        self._clock: threading.Timer | None = None

    def draw(
        self,
        paper: str,
        data: Mapping[str, Any],
        logo: bytes | None = None,
        photos: Mapping[str, bytes] | None = None,
        *,
        only_count: bool = False,
        can_wait: bool = False,
        told: Told = lambda page: None,
    ) -> tuple[bytes, int]:
        """Draw in another process and give file and pages. Raises NotDrawn.

        can_wait: other drawings go first. told hears the number of each page as it is laid out.
        """
        photos = dict(photos or {})
        head = {"paper": paper, "data": data, "logo": bool(logo), "photos": list(photos), "only_count": only_count}
        order = message_from(head, [*([logo] if logo else []), *photos.values()])
        with self._places.one(can_wait):
            process, answer = self._answer(order, told)
            if answer is None and process.heard == 0 and process.drawings > 1 and not process.late:
                process, answer = self._answer(order, told)  # it had been killed while it was idle
        if answer is None:
            raise NotDrawn(_ended(paper, process))
        answered, blobs = answer
        if "error" in answered:
            raise NotDrawn(_failed(paper, answered["error"]))
        return blobs[0], answered["pages"]

    def _answer(self, order: bytes, told: Told) -> tuple[_Process, _Answer | None]:
        process, answer = self._take(), None
        try:
            answer = process.draw(order, told)
        finally:
            self._give_back(process, well=answer is not None and answer[0].get("error") != "memory")
        return process, answer

    def processes(self) -> list[int]:
        """The numbers of the processes that live now."""
        with self._lock:
            return [process.popen.pid for process in (*self._idle, *self._busy)]

    def end(self) -> None:
        """End every process; the next drawing starts another."""
        with self._lock:
            ended, self._idle, self._busy = [*self._idle, *self._busy], [], set()
            if self._clock is not None:
                self._clock.cancel()
        for process in ended:
            process.end()

    def forget(self) -> None:
        """In a copy of this process: let go of pipes and locks that belong to the first one."""
        for process in (*self._idle, *self._busy):
            process.drop()
        self.__init__()  # type: ignore[misc]

    def _take(self) -> _Process:
        with self._lock:
            process = self._idle.pop() if self._idle else None
        if process is None or process.popen.poll() is not None:  # somebody may have killed it meanwhile
            if process is not None:
                process.clear()
            try:
                process = _Process(*self._bounds)
            except OSError as problem:
                raise NotDrawn(f"No process could be started to draw the paper: {problem}.") from problem
        with self._lock:
            self._busy.add(process)
        return process

    def _give_back(self, process: _Process, well: bool) -> None:
        with self._lock:
            self._busy.discard(process)
            keep = well and process.drawings < DRAWINGS_MOST
            if keep:
                self._idle.append(process)
            if self._clock is not None:
                self._clock.cancel()
            self._clock = threading.Timer(IDLE_SECONDS, self._end_idle)
            self._clock.daemon = True
            self._clock.start()
        if not keep:
            process.end()

    def _end_idle(self) -> None:
        with self._lock:
            ended, self._idle = self._idle, []
        for process in ended:
            process.end()


def _ended(paper: str, process: _Process) -> str:
    name = paper.replace("_", " ")
    if process.late:
        return (
            f"The {name} was not drawn within {process.seconds} seconds, so that was stopped. Nothing of it was kept; "
            "try again when the computer has less to do."
        )
    log.error("the process that draws papers ended with %s", process.popen.returncode)
    return f"The process that drew the {name} ended before it was done. Nothing of it was kept; try again."


def _failed(paper: str, error: str) -> str:
    name = paper.replace("_", " ")
    if error == "memory":
        return f"The {name} needed more memory than a drawing may take. Nothing of it was kept."
    return f"The {name} could not be drawn ({error}). Nothing of it was kept; the log has more."


#: The processes of this program. Nothing is started before the first drawing.
DRAWERS = Drawers()
atexit.register(DRAWERS.end)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=DRAWERS.forget)
