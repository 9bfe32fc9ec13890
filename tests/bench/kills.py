"""A thousand certificates issued by four processes at once that are killed again and again: no gap, none twice."""

import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from app.actions.deeds import Desk
from app.settings import Settings
from app.store.database import Database
from app.store.migrate import upgrade
from tests.cast import LONDON, make_world
from tests.killed_issues import check_series, finished_visits, issue_with_kills

COUNT = 1000


def measure() -> Iterator[tuple[str, float]]:
    """Issue them all; it stops with an error where a number and its paper part."""
    with tempfile.TemporaryDirectory() as made:
        url = Settings(data_folder=Path(made)).database_url
        database, now = Database(url), datetime.now(UTC)
        upgrade(database.engine)
        desk = Desk(database, Path(made) / "papers", "http://127.0.0.1", LONDON, lambda: now)
        world = make_world(desk)
        visit_ids = finished_visits(desk, world, COUNT)
        database.close()
        began = time.perf_counter()
        kills = issue_with_kills(desk, url, world, visit_ids, processes=4, longest=12, seed=1)
        assert len(check_series(desk)) == COUNT
        yield f"{COUNT:,} issued in spite of {kills} times 4 kills", time.perf_counter() - began
