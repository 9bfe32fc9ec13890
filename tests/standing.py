"""An office that stays open for a whole module of journeys, so that only the first of them waits for it to start.

Before each journey it is emptied: the tables are as fresh, and no paper and no key is left.
"""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.actions.deeds import Desk
from app.store.database import Database
from tests.cast import LONDON, World, make_world
from tests.kept_rows import Rows, as_kept, keep_rows, put_rows_in
from tests.networks import Network, network_before
from tests.servers import RunningApp, running_app


@dataclass(frozen=True)
class StandingOffice:
    """The real app, running, and a desk at its database."""

    app: RunningApp
    desk: Desk
    fresh: Rows

    def empty(self) -> None:
        put_rows_in(self.desk.database.engine, self.fresh)
        for folder in (self.desk.papers_folder, self.desk.keys_folder):
            shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="module")
def standing_all_along(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[StandingOffice]:
    folder = tmp_path_factory.mktemp("office")
    desk = desk_at(f"sqlite:///{shutil.copyfile(sqlite_template, folder / 'ohmstead.db')}", folder)
    fresh = keep_rows(desk.database.engine)
    with running_app(folder) as app:
        yield StandingOffice(app, desk, fresh)
    desk.database.close()


@pytest.fixture
def standing(standing_all_along: StandingOffice) -> StandingOffice:
    """The office of this module, emptied."""
    standing_all_along.empty()
    return standing_all_along


@pytest.fixture
def network(standing: StandingOffice) -> Iterator[Network]:
    """A network before the office of this module, that can fail."""
    with network_before(standing.app.address) as network:
        yield network


def desk_at(url: str, folder: Path) -> Desk:
    """A desk with a real clock, at the database and the papers of an app that runs on a folder."""
    return Desk(Database(url), folder / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))


def make_world_now(desk: Desk) -> World:
    """Make the small firm at a desk with a real clock; it is as old as this hour."""
    hour = desk.now.replace(minute=0, second=0, microsecond=0)
    return as_kept(replace(desk, clock=lambda: hour), make_world)
