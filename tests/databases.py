"""The databases that tests get: fresh, brought to the newest tables, on SQLite and on PostgreSQL.

A test that asks for `database` runs twice, once on each. The tables are made once a run; a SQLite file is then copied,
a database of PostgreSQL emptied and used again.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.store.database import Database
from app.store.migrate import upgrade
from tests.postgres import Cluster, find_programs, missing, running_cluster
from tests.reuse import Reuse


@pytest.fixture(scope="session")
def postgres_cluster() -> Iterator[Cluster]:
    """A running PostgreSQL server; the test is skipped, with the reason, where there is none."""
    programs = find_programs()
    if programs is None:
        pytest.skip(missing())
    with running_cluster(programs) as cluster:
        yield cluster


@pytest.fixture
def empty_postgres_url(postgres_cluster: Cluster) -> Iterator[str]:
    """The address of a PostgreSQL database without any table."""
    name = postgres_cluster.add_database()
    yield postgres_cluster.url(name)
    postgres_cluster.remove_database(name)


@pytest.fixture(scope="session")
def postgres_reuse(postgres_cluster: Cluster) -> Reuse:
    """Migrated databases, one after the other."""
    name = postgres_cluster.add_database()
    _bring_up(postgres_cluster.url(name))
    return Reuse(postgres_cluster, name)


@pytest.fixture
def postgres_url(postgres_reuse: Reuse) -> Iterator[str]:
    """The address of a migrated PostgreSQL database that holds what a fresh one does."""
    name = postgres_reuse.take()
    yield postgres_reuse.cluster.url(name)
    postgres_reuse.give_back(name)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file that is only copied."""
    file = tmp_path_factory.mktemp("template") / "ohmstead.db"
    _bring_up(f"sqlite:///{file}")
    return file


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    """The address of a fresh, migrated SQLite database."""
    return f"sqlite:///{shutil.copyfile(sqlite_template, tmp_path / 'ohmstead.db')}"


@pytest.fixture(params=["sqlite", "postgres"])
def database_url(request: pytest.FixtureRequest) -> str:
    """The address of a fresh, migrated database; the test runs on SQLite and on PostgreSQL."""
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A fresh, migrated database as the app opens it; the test runs on SQLite and on PostgreSQL."""
    database = Database(database_url)
    yield database
    database.close()


def _bring_up(url: str) -> None:
    database = Database(url)
    upgrade(database.engine)
    database.close()
