"""Papers drawn in another process: the same bytes, and a plain refusal when that is killed or takes too long."""

import os
import signal
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from app.documents.certificate import certificate_from
from app.documents.drawing import Drawers, NotDrawn
from app.documents.pdf import to_pdf
from tests.documents.every_paper import logo
from tests.documents.sample_papers import certificate

SHORT, LONG = certificate_from(certificate(1)), certificate_from(certificate(400))


@pytest.fixture
def drawers() -> Iterator[Drawers]:
    made = Drawers()
    yield made
    made.end()


def test_the_bytes_are_those_of_a_drawing_on_the_spot(drawers: Drawers) -> None:
    assert drawers.processes() == []
    drawn, pages = drawers.draw("certificate", SHORT, logo())
    assert (drawn, pages) == (to_pdf("certificate", SHORT, logo_png=logo()), 2)
    [process] = drawers.processes()
    assert process != os.getpid()
    assert drawers.draw("certificate", SHORT, only_count=True) == (b"", 2)
    assert drawers.processes() == [process], "a process serves more than one drawing"


def test_a_killed_process_draws_nothing_and_the_next_one_does(drawers: Drawers) -> None:
    heard: list[int] = []
    refused: list[str] = []

    def draw() -> None:
        with pytest.raises(NotDrawn) as raised:
            drawers.draw("certificate", LONG, told=heard.append)
        refused.append(raised.value.sentence)

    thread = threading.Thread(target=draw)
    thread.start()
    until = time.monotonic() + 60
    while len(heard) < 3 and time.monotonic() < until:  # in the middle of the work
        time.sleep(0.01)
    assert heard == [1, 2, 3]
    [process] = drawers.processes()
    os.kill(process, signal.SIGKILL)
    thread.join()
    assert "ended before it was done. Nothing of it was kept" in refused[0]
    assert drawers.draw("certificate", SHORT)[0].endswith(b"%%EOF\n")
    assert process not in drawers.processes()


def test_a_process_that_was_killed_while_idle_is_replaced(drawers: Drawers) -> None:
    drawers.draw("certificate", SHORT, only_count=True)
    [process] = drawers.processes()
    os.kill(process, signal.SIGKILL)
    assert drawers.draw("certificate", SHORT, only_count=True) == (b"", 2)


def test_no_temporary_file_outlives_its_process(
    drawers: Drawers, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    drawers.draw("certificate", SHORT, only_count=True)
    [folder] = tmp_path.iterdir()
    assert any(folder.iterdir()), "the renderer keeps its fonts there"
    [process] = drawers.processes()
    os.kill(process, signal.SIGKILL)
    drawers.draw("certificate", SHORT, only_count=True)
    [other] = tmp_path.iterdir()
    assert other != folder, "that of the killed one is gone"
    drawers.end()
    assert list(tmp_path.iterdir()) == []


def test_what_takes_too_long_is_stopped() -> None:
    drawers = Drawers(seconds=1)
    with pytest.raises(NotDrawn, match="within 1 seconds|ended before it was done"):
        drawers.draw("certificate", LONG)  # takes several times as long on any computer
    assert drawers.processes() == []


def test_what_needs_too_much_memory_is_stopped() -> None:
    drawers = Drawers(memory=150_000_000)
    with pytest.raises(NotDrawn, match="more memory than|ended before it was done"):
        drawers.draw("certificate", LONG)
    assert drawers.processes() == []


def test_what_cannot_be_drawn_is_said_and_harms_nothing(drawers: Drawers) -> None:
    broken: dict[str, Any] = {**SHORT, "summary": {}}
    with pytest.raises(NotDrawn, match="could not be drawn \\(UndefinedError"):
        drawers.draw("certificate", broken)
    assert drawers.draw("certificate", SHORT, only_count=True) == (b"", 2)
    assert len(drawers.processes()) == 1


def test_what_can_wait_lets_the_rest_go_first() -> None:
    drawers, order = Drawers(processes=1), list[str]()
    begun = threading.Event()

    def draw(name: str, can_wait: bool) -> None:
        drawers.draw("certificate", SHORT, only_count=True, can_wait=can_wait, told=lambda page: begun.set())
        order.append(name)

    threads = [threading.Thread(target=draw, args=("first", True))]
    threads[0].start()
    assert begun.wait(60)  # it has the only place; these two queue for it
    for name, can_wait in (("patient", True), ("urgent", False)):
        threads.append(threading.Thread(target=draw, args=(name, can_wait)))
        threads[-1].start()
        time.sleep(0.05)
    for thread in threads:
        thread.join()
    drawers.end()
    assert order == ["first", "urgent", "patient"]
