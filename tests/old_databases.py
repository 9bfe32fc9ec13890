"""Databases as they were before a migration, for tests of what it does with a firm's data, on both databases."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Date, DateTime, Integer, MetaData, Table
from sqlalchemy.types import Boolean

from app.store.database import Database
from app.store.migrate import _config


@contextmanager
def database_before(request: pytest.FixtureRequest, folder: Path, migration: str) -> Iterator[Database]:
    """A database as it was before a migration, named without its number. request.param: sqlite or postgres."""
    url = (
        f"sqlite:///{folder / 'old.db'}" if request.param == "sqlite" else request.getfixturevalue("empty_postgres_url")
    )
    database = Database(url)
    scripts = ScriptDirectory.from_config(_config(database.engine))
    before = next(each.down_revision for each in scripts.walk_revisions() if each.revision[5:] == migration)
    command.upgrade(_config(database.engine), str(before))
    yield database
    database.close()


def put(connection: Connection, name: str, **values: Any) -> None:
    """Put a row in a table as it is now; whatever must have a value and is not named gets the plainest there is."""
    table = Table(name, MetaData(), autoload_with=connection)
    day = date(2026, 1, 1)
    for column in table.columns:
        if column.name in values or column.nullable or column.server_default is not None:
            continue
        kind = column.type
        plain: object = f"{name} {column.name}"
        if isinstance(kind, Boolean):
            plain = False
        elif isinstance(kind, Integer):
            plain = 1
        elif isinstance(kind, DateTime):
            plain = datetime(2026, 1, 1, tzinfo=UTC)
        elif isinstance(kind, Date):
            plain = day
        elif column.name.endswith("_on") or column.name == "tax_point":
            plain = "2026-01-01"
        elif column.name.endswith("_at"):
            plain = "2026-01-01 00:00:00.000000"
        elif kind.__class__.__name__ == "JSON":
            plain = []
        values[column.name] = plain
    connection.execute(table.insert().values(**values))
