"""What a database holds, kept in memory and put into another that has its tables and nothing in them.

Quicker than making the same through actions for each test, and the same to the last byte.
"""

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Engine

from app.actions.deeds import Desk
from app.store.database import SQLITE

Given = TypeVar("Given")

SEQUENCES = "SELECT sequencename, start_value, last_value FROM pg_sequences"


@dataclass
class Rows:
    """A SQLite database in memory, or the rows of PostgreSQL's tables and where its sequences stand.

    sequences: the number given last, by name; one that none was taken from says where it begins, and False.
    """

    whole: Any = None
    tables: dict[str, bytes] = field(default_factory=dict)
    sequences: dict[str, tuple[int, bool]] = field(default_factory=dict)

    def copy_into(self, link: Any) -> None:
        """Put the rows into empty tables of PostgreSQL over a connection of psycopg; triggers have to be quiet."""
        cursor = link.cursor()
        for table, told in self.tables.items():
            if told:
                with cursor.copy(f'COPY "{table}" FROM STDIN') as copy:
                    copy.write(told)
        moved = (f"SELECT setval('{name}', {value}, {taken});" for name, (value, taken) in self.sequences.items())
        cursor.execute("".join(moved))


def keep_rows(engine: Engine) -> Rows:
    """Take down what is there."""
    with engine.connect() as link:
        driver: Any = link.connection.driver_connection
        if engine.dialect.name == "sqlite":
            whole = SQLITE.connect(":memory:", check_same_thread=False)
            driver.backup(whole)
            return Rows(whole)
        rows, cursor = Rows(), driver.cursor()
        for (table,) in cursor.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall():
            with cursor.copy(f'COPY "{table}" TO STDOUT') as copy:
                rows.tables[table] = b"".join(bytes(part) for part in copy)
        for name, first, last in cursor.execute(SEQUENCES).fetchall():
            rows.sequences[name] = (first, False) if last is None else (last, True)
        return rows


def put_rows_in(engine: Engine, rows: Rows) -> None:
    """Put it into a database fresh from its tables. On PostgreSQL neither triggers nor foreign keys see it come."""
    with engine.connect() as link:
        driver: Any = link.connection.driver_connection
        if engine.dialect.name == "sqlite":
            rows.whole.backup(driver)
            return
        driver.execute("SET LOCAL session_replication_role = replica")
        driver.execute("".join(f'DELETE FROM "{table}";' for table, told in rows.tables.items() if told).encode())
        rows.copy_into(driver)
        driver.commit()


@dataclass(frozen=True)
class _Kept:
    rows: Rows
    files: dict[Path, bytes]
    given: Any


_kept: dict[tuple[object, ...], _Kept] = {}


def as_kept(desk: Desk, make: Callable[..., Given], *told: object) -> Given:
    """Do make(desk, *told) once a run for each kind of database and moment; later give what it gave and left behind.

    For what a test module begins with, at a desk where nothing but the small firm was made.
    """
    engine, home = desk.database.engine, desk.papers_folder.parent
    folders = (desk.papers_folder, desk.keys_folder)
    key = (make.__module__, make.__qualname__, repr(told), engine.dialect.name, desk.now)
    if key not in _kept:
        given = make(desk, *told)
        files = [file for folder in folders for file in folder.rglob("*") if file.is_file()]
        content = {file.relative_to(home): file.read_bytes() for file in files}
        _kept[key] = _Kept(keep_rows(engine), content, deepcopy(given))
        return given
    kept = _kept[key]
    put_rows_in(engine, kept.rows)
    for name, content_of in kept.files.items():
        (home / name).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        (home / name).write_bytes(content_of)
        (home / name).chmod(0o600)
    again: Given = deepcopy(kept.given)
    return again
