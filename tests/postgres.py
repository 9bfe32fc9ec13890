"""A real PostgreSQL server for the tests: made for this run, reached through a socket only, gone afterwards.

PostgreSQL refuses to run as root, so root runs it as the user that its Debian package makes.
"""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
from sqlalchemy import URL

from tests.scratch import short_folder

USER = "ohmstead"
QUICK = "-c listen_addresses='' -c fsync=off -c synchronous_commit=off -c full_page_writes=off"


def find_programs() -> Path | None:
    """The folder with initdb and pg_ctl, newest version first, or nothing."""
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: -float(folder.parent.name))
    on_path = shutil.which("initdb")
    folders = [*debian, *([Path(on_path).parent] if on_path else [])]
    return next((folder for folder in folders if (folder / "initdb").exists()), None)


def missing() -> str:
    """What tests on PostgreSQL lack on this computer and how to get it; empty when all is there."""
    return "" if find_programs() else "no PostgreSQL server here (Debian: apt-get install postgresql)"


@dataclass(frozen=True)
class Cluster:
    """A running server. Databases are made as copies of others, which takes about 0.1 s."""

    socket_folder: Path

    def url(self, database: str) -> str:
        """The address of a database, as SQLAlchemy and the app's settings take it."""
        where = {"host": str(self.socket_folder)}
        address = URL.create("postgresql+psycopg", username=USER, database=database, query=where)
        return address.render_as_string(hide_password=False)

    def run(self, statement: str) -> None:
        """Run one statement outside a transaction, as CREATE DATABASE wants."""
        where = f"host={self.socket_folder} user={USER} dbname=postgres"
        with psycopg.connect(where, autocommit=True) as link:
            link.execute(statement.encode())

    def add_database(self, template: str = "template0") -> str:
        """Make a database from a template and answer its name."""
        name = f"t{uuid4().hex}"
        self.run(f"CREATE DATABASE {name} TEMPLATE {template}")
        return name

    def remove_database(self, name: str) -> None:
        """Remove a database, also while something is still connected to it."""
        self.run(f"DROP DATABASE {name} WITH (FORCE)")


def _as_server_user(folder: Path) -> dict[str, Any]:
    if os.geteuid() != 0:
        return {}
    names = {entry.pw_name for entry in pwd.getpwall()}
    user = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
    os.chown(folder, user.pw_uid, user.pw_gid)
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


@contextmanager
def running_cluster(programs: Path) -> Iterator[Cluster]:
    """Make a cluster in a new folder, start it, and remove both at the end."""
    folder = Path(tempfile.mkdtemp(prefix="ohmstead-pg-", dir=short_folder()))
    user = _as_server_user(folder)

    def run(program: str, *words: str) -> None:
        command = [str(programs / program), "-D", str(folder / "data"), *words]
        # The server keeps its standard output open, so a pipe there would never end.
        with (folder / "said").open("w+") as said:
            code = subprocess.run(command, cwd=folder, stdout=said, stderr=said, check=False, **user).returncode
        if code:
            raise RuntimeError(f"{program} failed: {(folder / 'said').read_text()[-2000:]}")

    try:
        run("initdb", "-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N")
        run("pg_ctl", "-w", "-l", str(folder / "log"), "-o", f"-k {folder} {QUICK}", "start")
        yield Cluster(folder)
    finally:
        with suppress(RuntimeError):
            run("pg_ctl", "-m", "fast", "stop")
        shutil.rmtree(folder, ignore_errors=True)
