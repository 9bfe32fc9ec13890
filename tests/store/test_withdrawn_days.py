"""Items that were withdrawn before the day of it was kept get it from the journal, on both databases."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from app.store.database import Database
from app.store.items import get_item
from app.store.migrate import upgrade
from tests.old_databases import database_before, put


@pytest.fixture(params=["sqlite", "postgres"])
def old_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """A database as it was before papers beside certificates."""
    with database_before(request, tmp_path, "papers") as database:
        yield database


def test_a_withdrawn_item_gets_its_day_from_the_journal(old_database: Database) -> None:
    with old_database.engine.begin() as connection:
        for name in ("people", "customers", "premises", "locations"):
            put(connection, name, id=1)
        for item_id, state in ((1, "withdrawn"), (2, "in use"), (3, "withdrawn")):
            put(connection, "items", id=item_id, number=f"000{item_id}", state=state)
        for line, (item_id, day, sentence) in enumerate(
            (
                (1, 3, "Item 0001 is now out of use: cracked"),
                (1, 5, "Item 0001 is now withdrawn: scrapped"),
                (2, 6, "Item 0002 is now out of use: cracked"),
            )
        ):
            moment = datetime(2026, 2, day, 15, 30, tzinfo=UTC)
            at = moment if connection.dialect.name == "postgresql" else f"{moment:%Y-%m-%d %H:%M:%S}.000000"
            put(connection, "journal", id=line + 1, at=at, subject="item", subject_id=item_id, sentence=sentence)
    upgrade(old_database.engine)
    with old_database.reading() as session:
        assert [get_item(session, number).withdrawn_on for number in (1, 2, 3)] == [date(2026, 2, 5), None, None]
