"""Runs migrations on the engine that app/store/migrate.py hands over."""

from typing import Any, Literal

from alembic import context
from sqlalchemy import Engine
from sqlalchemy.types import TypeDecorator

from app.store import tables

engine: Engine = context.config.attributes["engine"]


def render_plain(kind: str, thing: Any, autogenerate: Any) -> str | Literal[False]:
    """Write our own column types as the plain ones below them: a migration must not import from the program."""
    if kind == "type" and isinstance(thing, TypeDecorator):
        return f"sa.{thing.impl_instance!r}"
    return False


with engine.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=tables.metadata,
        compare_type=True,
        include_name=lambda name, *_: not str(name).startswith("search_index"),
        render_item=render_plain,
        transaction_per_migration=True,
    )
    with context.begin_transaction():
        context.run_migrations()
    connection.commit()
