"""Starts the real app as a person would, in a process of its own on a free port of this computer.

How the app is started and how it says that it is ready is written here and nowhere else in the tests.
"""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SECONDS_TO_START = 60


@dataclass(frozen=True)
class RunningApp:
    """A started app: where it listens, where its data is, and what it printed so far."""

    address: str
    data_folder: Path
    log_file: Path
    process: subprocess.Popen[bytes]

    @property
    def printed(self) -> str:
        return self.log_file.read_text("utf-8", "replace")


@contextmanager
def running_app(data_folder: Path, *options: str, **settings: str) -> Iterator[RunningApp]:
    """Start the app on the data folder and stop it at the end. Settings are environment variables."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    data_folder.mkdir(parents=True, exist_ok=True)
    log_file = data_folder.with_name(f"{data_folder.name}.log")
    outside = {name: value for name, value in os.environ.items() if not name.startswith("OHMSTEAD_")}
    where = ["--port", str(port), "--data", str(data_folder)]
    command = [sys.executable, "-m", "app", "serve", *where, *options]
    with log_file.open("ab") as log:
        process = subprocess.Popen(
            command, cwd=ROOT, env={**outside, "PYTHONUNBUFFERED": "1", **settings}, stdout=log, stderr=log
        )
    app = RunningApp(f"http://127.0.0.1:{port}", data_folder, log_file, process)
    try:
        _wait_until_listening(app, port)
        yield app
    finally:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_until_listening(app: RunningApp, port: int) -> None:
    give_up_at = time.monotonic() + SECONDS_TO_START
    while time.monotonic() < give_up_at and app.process.poll() is None:
        with socket.socket() as link:
            if link.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    raise RuntimeError(f"the app did not start; it printed:\n{app.printed[-4000:]}")


@pytest.fixture
def app_server(tmp_path: Path) -> Iterator[RunningApp]:
    """The real app on an empty data folder, as after the very first start."""
    with running_app(tmp_path / "data") as app:
        yield app
