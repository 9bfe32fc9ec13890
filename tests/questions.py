"""Hears what a database is asked, so that a test can say in how many questions something is answered."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import event

from app.actions.deeds import Desk


@contextmanager
def hearing(desk: Desk) -> Iterator[list[str]]:
    """Give the SELECT statements asked inside, in order."""
    asked: list[str] = []

    def hear(connection: Any, cursor: Any, statement: str, *rest: Any) -> None:
        if statement.lstrip().startswith(("SELECT", "WITH")):
            asked.append(statement)

    event.listen(desk.database.engine, "before_cursor_execute", hear)
    try:
        yield asked
    finally:
        event.remove(desk.database.engine, "before_cursor_execute", hear)
