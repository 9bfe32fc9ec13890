"""Share links from before they could open more than a visit: each opens as before, and e-mails still name theirs."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from app.rules.share_links import LinkKind
from app.store.database import Database
from app.store.migrate import upgrade
from app.store.share_links import list_share_links
from tests.old_databases import database_before, put


@pytest.fixture(params=["sqlite", "postgres"])
def old_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    with database_before(request, tmp_path, "customers_word") as database:
        yield database


def test_every_link_keeps_its_visit_its_token_and_its_e_mail(old_database: Database) -> None:
    with old_database.engine.begin() as connection:
        for name in ("people", "customers", "premises", "instruments", "visits"):
            put(connection, name, id=1)
        for number in (3, 8):
            put(connection, "share_links", id=number, token_hash=f"hash {number}", openings=number)
            put(connection, "mails", id=number, share_link_id=number)
    upgrade(old_database.engine)
    with old_database.reading() as session:
        rows = list_share_links(session)
        assert [(row.id, row.token_hash, row.openings, row.visit_id) for row in rows] == [
            (8, "hash 8", 8, 1), (3, "hash 3", 3, 1),
        ]  # fmt: skip
        assert all(row.scope.kind == LinkKind.VISIT and row.with_money for row in rows)
        named = session.execute(text("SELECT id, share_link_id FROM mails ORDER BY id")).all()
        assert [tuple(row) for row in named] == [(3, 3), (8, 8)]
        if old_database.engine.dialect.name == "sqlite":
            assert session.execute(text("PRAGMA foreign_key_check")).all() == []
            made = session.scalar(text("SELECT sql FROM sqlite_master WHERE name = 'share_links'"))
            assert made is not None and "STRICT" in made
