"""The process in which papers are drawn: it takes orders from its standard input and answers on its standard output.

It bounds its own memory and time where the platform can, gives way to the web process, and ends when that one does.
An order or answer is a line of JSON followed by so many bytes as its "blobs" say. Nothing is pickled, so an answer
cannot run anything in the process that reads it.
"""

import json
import logging
import os
import re
import shutil
import sys
import tempfile
import threading
from collections.abc import Callable, Mapping
from queue import SimpleQueue
from typing import IO, Any

try:
    import resource
except ImportError:  # Windows has none
    resource = None  # type: ignore[assignment]

Order = tuple[dict[str, Any], list[bytes]]
#: The line by which the renderer's log says that it begins a page.
_PAGE = re.compile(r"Creating layout - Page (\d+)$")


def message_from(head: Mapping[str, Any], blobs: list[bytes]) -> bytes:
    """Write one order or answer."""
    line = json.dumps({**head, "blobs": [len(blob) for blob in blobs]}, ensure_ascii=False)
    return b"".join((line.encode(), b"\n", *blobs))


def read_message_from(stream: IO[bytes]) -> Order | None:
    """Read one order or answer; nothing when the other side has ended, even in the middle of one."""
    line = stream.readline()
    if not line.endswith(b"\n"):
        return None
    head = json.loads(line)
    lengths = head.pop("blobs")
    blobs = [stream.read(length) for length in lengths]
    return (head, blobs) if [len(blob) for blob in blobs] == lengths else None


class _Told(logging.Handler):
    """Passes on how many pages are laid out."""

    def __init__(self, tell: Callable[[dict[str, Any]], None]) -> None:
        super().__init__(logging.INFO)
        self.tell = tell

    def emit(self, record: logging.LogRecord) -> None:
        if found := _PAGE.search(record.getMessage()):
            self.tell({"page": int(found[1])})


def _work() -> None:
    orders = os.fdopen(os.dup(0), "rb")
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints goes to the log, not between the answers
    memory, seconds, tempfile.tempdir = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    _bound("RLIMIT_AS", memory)
    _bound("RLIMIT_CORE", 0)
    if hasattr(os, "nice"):
        os.nice(5)

    def tell(head: dict[str, Any], blobs: list[bytes] | None = None) -> None:
        answers.write(message_from(head, blobs or []))
        answers.flush()

    progress = logging.getLogger("weasyprint.progress")
    progress.setLevel(logging.INFO)
    progress.addHandler(_Told(tell))
    waiting: SimpleQueue[Order] = SimpleQueue()
    threading.Thread(target=_listen, args=(orders, waiting), daemon=True).start()
    from app.documents import pdf  # the second that this takes is spent while the first order is on its way

    while True:
        head, blobs = waiting.get()
        if resource is not None:
            used = resource.getrusage(resource.RUSAGE_SELF)
            _bound("RLIMIT_CPU", int(used.ru_utime + used.ru_stime) + seconds)
        try:
            tell(*_answer(pdf, head, blobs))
        except MemoryError:
            tell({"error": "memory"})
            return
        except Exception as problem:  # whatever it is, the one who ordered must hear of it
            logging.getLogger("ohmstead").exception("a paper could not be drawn")
            tell({"error": f"{type(problem).__name__}: {problem}"[:300]})


def _answer(pdf: Any, head: dict[str, Any], blobs: list[bytes]) -> tuple[dict[str, Any], list[bytes]]:
    if head["paper"] == "labels":
        return {"pages": 0}, [pdf.label_pdf_from(head["data"])]
    logo = blobs.pop(0) if head["logo"] else None
    photos = dict(zip(head["photos"], blobs, strict=True))
    drawn = pdf.drawn_from(head["paper"], head["data"], logo_png=logo, photos=photos, only_count=head["only_count"])
    return {"pages": drawn.pages}, [drawn.content]


def _listen(orders: IO[bytes], waiting: "SimpleQueue[Order]") -> None:
    """Read orders, and end the process as soon as nobody can send any more, even in the middle of a drawing."""
    while (order := read_message_from(orders)) is not None:
        waiting.put(order)
    # A web process that was killed clears nothing up.
    shutil.rmtree(sys.argv[3], ignore_errors=True)
    os._exit(0)


def _bound(what: str, most: int) -> None:
    if resource is None:
        return
    kind = getattr(resource, what, None)
    if kind is None:
        return
    hard = resource.getrlimit(kind)[1]
    try:
        resource.setrlimit(kind, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
    except (OSError, ValueError):  # macOS has the name, but not the bound
        return


if __name__ == "__main__":
    _work()
