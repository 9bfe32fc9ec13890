"""Pages are tested on SQLite; the actions behind them on both databases."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.actions.deeds import Desk
from app.store.database import Database
from tests.cast import LONDON, Clock


@pytest.fixture
def desk(sqlite_url: str, clock: Clock, tmp_path: Path) -> Iterator[Desk]:
    """A desk with a fresh SQLite database."""
    database = Database(sqlite_url)
    yield Desk(database, tmp_path / "papers", "https://office.tarn-alder.example", LONDON, clock)
    database.close()
