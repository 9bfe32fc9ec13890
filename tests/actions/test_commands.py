"""The commands, run as a person would run them: python -m app COMMAND."""

import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

from app.actions.deeds import Desk
from app.actions.people import sign_in
from app.store.database import Database
from tests.cast import LONDON, PASSWORD, make_world
from tests.servers import ROOT


def run(*words: str, data: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "app", *words, "--data", str(data)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def new_firm(sqlite_url: str, folder: Path) -> Desk:
    desk = Desk(Database(sqlite_url), folder / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
    make_world(desk)
    return desk


def test_backup_and_restore(sqlite_url: str, tmp_path: Path) -> None:
    new_firm(sqlite_url, tmp_path).database.close()
    made = run("backup", str(tmp_path / "copy"), data=tmp_path)
    assert (made.returncode, "Backed up the database" in made.stdout) == (0, True)
    again = run("backup", str(tmp_path / "copy"), data=tmp_path)
    assert (again.returncode, "never overwrites" in again.stderr) == (1, True)
    back = run("restore", str(tmp_path / "copy"), data=tmp_path / "elsewhere")
    assert (back.returncode, "checked against its SHA-256" in back.stdout) == (0, True)
    assert run("restore", str(tmp_path / "copy"), data=tmp_path / "elsewhere").returncode == 1


def test_a_forgotten_password(sqlite_url: str, tmp_path: Path) -> None:
    desk = new_firm(sqlite_url, tmp_path)
    done = run("password", "ines@tarn-alder.example", data=tmp_path)
    assert done.returncode == 0
    new = done.stdout.split()[-1]
    with desk.doing(None) as deed:
        assert sign_in(deed, "ines@tarn-alder.example", PASSWORD) is None
        assert sign_in(deed, "ines@tarn-alder.example", new) is not None
    assert run("password", "nobody@tarn-alder.example", data=tmp_path).returncode == 1
    desk.database.close()


def test_a_bad_port_is_said_plainly(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "app", "upgrade", "--data", str(tmp_path)]
    done = subprocess.run(
        command, cwd=ROOT, capture_output=True, text=True, check=False, env={**os.environ, "OHMSTEAD_PORT": "x"}
    )
    assert (done.returncode, "must be a number" in done.stderr, "Traceback" in done.stderr) == (1, True, False)
