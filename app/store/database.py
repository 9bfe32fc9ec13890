"""The engine, the session and the base of all tables, with the settings that keep SQLite and PostgreSQL honest.

SQLite runs in WAL mode with synchronous=FULL, so that an answered save is on disk, and every transaction begins
IMMEDIATE, so that writers queue instead of failing. Tables are STRICT. SQLite before 3.51.3 can corrupt a
database in WAL mode, so an older library falls back to the rollback journal, which that fault does not touch.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from decimal import Decimal
from types import ModuleType
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Date,
    DateTime,
    Engine,
    LargeBinary,
    MetaData,
    String,
    Text,
    create_engine,
    event,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.orm import DeclarativeBase, Session
from sqlalchemy.orm.exc import StaleDataError
from sqlalchemy.types import TypeDecorator

try:
    import pysqlite3.dbapi2 as _sqlite
except ImportError:  # no wheel for this platform: the interpreter's own SQLite serves
    _sqlite = sqlite3

SQLITE: ModuleType = _sqlite
WAL_IS_SOUND = SQLITE.sqlite_version_info >= (3, 51, 3)

NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}
STRICT = {"sqlite_strict": True}


def _strict_type(kind: type[Any], word: str) -> None:
    # STRICT tables know only INTEGER, REAL, TEXT, BLOB and ANY.
    compiles(kind, "sqlite")(lambda element, compiler, **options: word)


for _kind, _word in (
    (String, "TEXT"),
    (Text, "TEXT"),
    (Date, "TEXT"),
    (DateTime, "TEXT"),
    (JSON, "TEXT"),
    (Boolean, "INTEGER"),
    (LargeBinary, "BLOB"),
):
    _strict_type(_kind, _word)


class Exact(TypeDecorator[Decimal]):
    """A decimal kept as its text, so that no digit is lost and none is added."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        return None if value is None else format(value, "f")

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        return None if value is None else Decimal(value)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC. Only moments with a time zone are taken."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs a time zone")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


class Base(DeclarativeBase):
    """The base of all tables."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {
        Decimal: Exact,
        datetime: Moment,
        dict[str, Any]: JSON,
        list[str]: JSON,
        list[dict[str, str]]: JSON,
        dict[str, str]: JSON,
        dict[str, dict[str, str]]: JSON,
        bytes: LargeBinary,
    }
    __table_args__: Any = STRICT


#: Raised when two people save the same row, or the same number, at the same moment.
CLASHES = (IntegrityError, StaleDataError)


class Missing(LookupError):
    """A row that was asked for by id and is not there."""


class Database:
    """One database: sessions that write in one transaction, and sessions that only read."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.engine = _engine(url)

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session whose work is committed at the end, or undone as a whole when anything is raised."""
        with Session(self.engine, expire_on_commit=False) as session, session.begin():
            yield session

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that never commits."""
        with Session(self.engine.execution_options(ohmstead_reads=True), autoflush=False) as session:
            try:
                yield session
            finally:
                session.rollback()

    def close(self) -> None:
        self.engine.dispose()


def _engine(url: str) -> Engine:
    if not url.startswith("sqlite"):
        return create_engine(url.replace("postgresql://", "postgresql+psycopg://", 1), pool_pre_ping=True)
    engine = create_engine(url, module=SQLITE, connect_args={"timeout": 10, "check_same_thread": False})

    @event.listens_for(engine, "connect")
    def settle(connection: Any, record: Any) -> None:
        connection.isolation_level = None  # transactions begin below, not by the driver's own guess
        journal = "WAL" if WAL_IS_SOUND else "DELETE"
        for pragma in (
            f"journal_mode={journal}",
            "synchronous=FULL",
            "foreign_keys=ON",
            "busy_timeout=10000",
            "trusted_schema=OFF",
            "cell_size_check=ON",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def begin(connection: Any) -> None:
        reads = connection.get_execution_options().get("ohmstead_reads")
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")

    return engine
