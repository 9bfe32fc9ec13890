"""Statements in SQL that are written once a run, for all the databases of its tests.

SQLAlchemy keeps what it has written for each engine, and every test has engines of its own: nearly every statement of
every test was written anew: two fifths of the work. Connections, settings and rows stay each engine's own.
"""

from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.util import LRUCache

from app.store import database

#: More than the program has statements.
KEPT_MOST = 10_000


def share_statements() -> None:
    """Let the engines that are made from now on keep their statements in one place for each kind of database."""
    make = database._engine
    first: dict[str, Engine] = {}

    def made(url: str) -> Engine:
        engine = make(url)
        kind = engine.dialect.name
        if kind not in first:
            model = make("sqlite://" if kind == "sqlite" else url)
            try:
                model.connect().close()  # a dialect learns from its first connection
            except SQLAlchemyError:
                return engine  # a test's wrong address; another test will have a right one
            model.dispose()
            model._compiled_cache = LRUCache(KEPT_MOST)
            first[kind] = model
        engine.dialect, engine._compiled_cache = first[kind].dialect, first[kind]._compiled_cache
        return engine

    database._engine = made
