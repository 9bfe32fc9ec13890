"""Brings a database to the newest tables, and makes new migrations. Alembic without an ini file."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

FOLDER = Path(__file__).resolve().parents[2] / "migrations"


def _config(engine: Engine) -> Config:
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    config.set_main_option("file_template", "%%(rev)s")  # the file is named by its number and name, not by a hash
    config.attributes["engine"] = engine
    return config


def find_version(engine: Engine) -> str | None:
    """The revision that the database is at, or nothing for an empty one."""
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def find_newest_version(engine: Engine) -> str | None:
    """The newest revision that this program knows."""
    return ScriptDirectory.from_config(_config(engine)).get_current_head()


def upgrade(engine: Engine) -> None:
    """Bring the database to the newest revision. Each migration is one transaction."""
    command.upgrade(_config(engine), "head")


def add_migration(engine: Engine, name: str) -> None:
    """Write a new migration with what differs between the database and the tables."""
    number = len(list((FOLDER / "versions").glob("[0-9]*.py"))) + 1
    command.revision(_config(engine), message=name, rev_id=f"{number:04d}_{name}", autogenerate=True)
