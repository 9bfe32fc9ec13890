"""Migrations stand in one line, and what they make is what the tables say, on SQLite and on PostgreSQL."""

import ast
import pkgutil
from importlib import import_module
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

import app.store
from app.store.database import Base, Database
from tests.house.tree import ROOT, list_imports, parse

VERSIONS = sorted((ROOT / "migrations" / "versions").glob("[0-9]*.py"))


def written(name: str, module: ast.Module) -> object:
    for node in module.body:
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        if any(isinstance(target, ast.Name) and target.id == name for target in targets):
            return ast.literal_eval(node.value)  # type: ignore[attr-defined]
    raise AssertionError(f"no {name}")


def test_migrations_stand_in_one_line() -> None:
    assert VERSIONS, "there is no migration"
    previous = None
    for number, path in enumerate(VERSIONS, 1):
        tree = parse(path)
        assert path.stem.startswith(f"{number:04d}_"), f"{path.name}: a number is missing or twice before it"
        assert written("revision", tree) == path.stem
        assert written("down_revision", tree) == previous
        assert "app" not in {source.split(".")[0] for source, _ in list_imports(path)}, "it imports the app"
        previous = path.stem


def test_an_upgraded_database_is_what_the_tables_say(database: Database) -> None:
    for module in pkgutil.iter_modules(app.store.__path__, "app.store."):
        import_module(module.name)
    with database.engine.connect() as connection:
        # The database's own index of words is no table of ours; tests/store/test_searches.py holds it.
        opts = {
            "compare_server_default": True,
            "include_name": lambda name, *_: not str(name).startswith("search_index"),
        }
        context = MigrationContext.configure(connection, opts=opts)
        assert compare_metadata(context, Base.metadata) == []


@pytest.mark.parametrize("path", VERSIONS, ids=lambda path: path.stem)
def test_a_migration_says_what_happens_to_the_data(path: Path) -> None:
    assert len((ast.get_docstring(parse(path)) or "").split()) >= 5
