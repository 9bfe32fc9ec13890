"""Copies of the database: taken while it is in use, and put back into an empty place.

SQLite is copied through its own backup interface, never as a file; PostgreSQL by pg_dump and pg_restore.
"""

import os
import shutil
import subprocess
from pathlib import Path

from sqlalchemy import inspect, make_url

from app.store.database import SQLITE, Database

SQLITE_NAME = "database.sqlite"
POSTGRES_NAME = "database.pgdump"


class NotCopied(Exception):
    """A database could not be copied or put back; the sentence says why."""


def copy_name(database: Database) -> str:
    """The name of the copy in a backup folder."""
    return SQLITE_NAME if database.engine.dialect.name == "sqlite" else POSTGRES_NAME


def copy_database(database: Database, to: Path) -> None:
    """Write a consistent copy of the database to a file. Raises NotCopied."""
    if database.engine.dialect.name != "sqlite":
        _run("pg_dump", "--format=custom", "--no-owner", f"--file={to}", _postgres_address(database))
        return
    source, target = SQLITE.connect(_sqlite_file(database)), SQLITE.connect(str(to))
    try:
        source.backup(target)
        _check(target)
    finally:
        source.close()
        target.close()


def put_back_database(database: Database, copy: Path) -> None:
    """Fill an empty database from a copy. Raises NotCopied when it is not empty or the copy is damaged."""
    if not is_empty(database):
        raise NotCopied("The database is not empty.")
    if database.engine.dialect.name != "sqlite":
        _run(
            "pg_restore",
            "--no-owner",
            "--exit-on-error",
            "--single-transaction",
            f"--dbname={_postgres_address(database)}",
            str(copy),
        )
        return
    database.close()
    file = Path(_sqlite_file(database))
    file.parent.mkdir(parents=True, exist_ok=True)
    source, target = SQLITE.connect(f"file:{copy}?mode=ro", uri=True), SQLITE.connect(str(file))
    try:
        _check(source)
        source.backup(target)
        _check(target)
    finally:
        source.close()
        target.close()


def is_empty(database: Database) -> bool:
    """Whether there is no table yet."""
    return not inspect(database.engine).get_table_names()


def _sqlite_file(database: Database) -> str:
    name = make_url(database.url).database
    if not name or name == ":memory:":
        raise NotCopied("A database in memory cannot be backed up.")
    return name


def _check(connection: object) -> None:
    problems = [row[0] for row in connection.execute("PRAGMA integrity_check")]  # type: ignore[attr-defined]
    foreign = connection.execute("PRAGMA foreign_key_check").fetchall()  # type: ignore[attr-defined]
    if problems != ["ok"] or foreign:
        raise NotCopied(f"The database is damaged: {problems[0]}, {len(foreign)} broken references.")


def _postgres_address(database: Database) -> str:
    return make_url(database.url).set(drivername="postgresql").render_as_string(hide_password=False)


def _run(program: str, *words: str) -> None:
    found = shutil.which(program)
    if found is None:
        raise NotCopied(f"{program} is not on this computer. It comes with PostgreSQL's client programs.")
    done = subprocess.run([found, *words], capture_output=True, text=True, check=False, env=dict(os.environ))
    if done.returncode != 0:
        raise NotCopied(f"{program} failed: {done.stderr.strip()[-500:]}")
