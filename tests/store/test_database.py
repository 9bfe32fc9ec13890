"""The settings that keep a database honest, read back from a live connection. Source of the SQLite settings:
SQLite documentation, "PRAGMA statements" and "Write-Ahead Logging" (durability of synchronous=FULL)."""

from datetime import datetime
from decimal import Decimal

import pytest
from sqlalchemy import literal, select, text
from sqlalchemy.exc import DBAPIError, IntegrityError

from app.store.database import WAL_IS_SOUND, Database, Exact, Moment
from app.store.migrate import find_newest_version, find_version


def test_every_connection_has_the_safe_settings(sqlite_url: str) -> None:
    database = Database(sqlite_url)
    with database.engine.connect() as connection:
        found = {
            name: connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "trusted_schema", "cell_size_check")
        }
        assert connection.execute(text("PRAGMA busy_timeout")).scalar_one() >= 5000
    assert found == {
        "journal_mode": "wal" if WAL_IS_SOUND else "delete",
        "synchronous": 2,
        "foreign_keys": 1,
        "trusted_schema": 0,
        "cell_size_check": 1,
    }


def test_the_library_is_one_without_the_wal_fault() -> None:
    assert WAL_IS_SOUND


def test_a_failing_transaction_leaves_nothing(database: Database) -> None:
    with pytest.raises(IntegrityError), database.writing() as session:
        session.execute(text("INSERT INTO series (name, last_number) VALUES ('certificate', 7)"))
        session.execute(
            text("INSERT INTO contacts (id, customer_id, name, role, phone, email) VALUES (1, 99, '', '', '', '')")
        )
    with database.reading() as session:
        assert session.execute(text("SELECT count(*) FROM series")).scalar() == 0


def test_a_reading_session_keeps_nothing(database: Database) -> None:
    with database.reading() as session:
        session.execute(text("INSERT INTO series (name, last_number) VALUES ('certificate', 7)"))
    with database.reading() as session:
        assert session.execute(text("SELECT count(*) FROM series")).scalar() == 0


def test_wrong_types_are_refused(database: Database) -> None:
    with pytest.raises(DBAPIError), database.writing() as session:
        session.execute(text("INSERT INTO series (name, last_number) VALUES ('certificate', 'seven')"))


def test_the_journal_is_only_added_to(database: Database) -> None:
    names = "id, at, person_name, subject, subject_id, sentence"
    line = f"INSERT INTO journal ({names}) VALUES (1, '2026-03-04 10:00:00', 'A', 'firm', 1, 'Said.')"
    with database.writing() as session:
        session.execute(text(line))
    for deed in ("UPDATE journal SET sentence = 'Unsaid.'", "DELETE FROM journal"):
        with pytest.raises(DBAPIError, match="only ever added"), database.writing() as session:
            session.execute(text(deed))
    with database.reading() as session:
        assert session.execute(text("SELECT sentence FROM journal")).scalar() == "Said."


def test_a_moment_needs_a_time_zone() -> None:
    with pytest.raises(ValueError, match="time zone"):
        Moment().process_bind_param(datetime(2026, 3, 4), None)  # type: ignore[arg-type]


def test_the_database_is_at_the_newest_revision(database: Database) -> None:
    assert find_version(database.engine) == find_newest_version(database.engine)


def test_decimals_keep_every_digit(database: Database) -> None:
    with database.reading() as session:
        for digits in ("0.1390", "0.1585", "1E-7", "123456789012345678901234567890.123456789"):
            assert session.scalar(select(literal(Decimal(digits), Exact))) == Decimal(digits)
