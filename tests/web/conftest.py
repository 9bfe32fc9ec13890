"""Pages are tested on SQLite; the actions behind them on both databases."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.actions.deeds import Desk
from app.store.database import Database
from tests.cast import LONDON, Clock
from tests.web.firm_at_work import FirmAtWork, running_firm


@pytest.fixture
def desk(sqlite_url: str, clock: Clock, tmp_path: Path) -> Iterator[Desk]:
    """A desk with a fresh SQLite database."""
    database = Database(sqlite_url)
    yield Desk(database, tmp_path / "papers", "https://office.tarn-alder.example", LONDON, clock)
    database.close()


@pytest.fixture(scope="session")
def firm_all_along(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FirmAtWork]:
    """A firm in the middle of its work, made once a run."""
    with running_firm(sqlite_template, tmp_path_factory.mktemp("firm")) as firm:
        yield firm


@pytest.fixture(scope="module")
def firm_at_work(firm_all_along: FirmAtWork) -> FirmAtWork:
    """The firm as it was made, for a module of tests; each test puts it back first where that matters."""
    firm_all_along.begin_anew()
    return firm_all_along
