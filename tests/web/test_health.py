"""What machines ask: is the server there, and does its database answer."""

import pytest

from app.store.database import Database
from tests.cast import BrowseAs, World


def test_it_answers_ok_to_anybody(browse_as: BrowseAs, world: World) -> None:
    answer = browse_as(None).get("/health")
    assert (answer.status_code, answer.text) == (200, "ok\n")
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"


def test_it_does_not_say_ok_when_the_database_is_gone(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(None)
    with browse.app.state.desk.database.writing() as session:
        session.connection().exec_driver_sql("ALTER TABLE firms RENAME TO elsewhere")
    answer = browse.get("/health")
    assert answer.status_code == 500
    assert "ok\n" not in answer.text and "firms" not in answer.text


@pytest.mark.parametrize("path", ["/health", "/robots.txt"])
def test_it_needs_no_firm(browse_as: BrowseAs, database: Database, path: str) -> None:
    assert browse_as(None).get(path).status_code == 200
