"""What every test can ask for. The fixtures live in the modules named here, one kind in each."""

from tests.browser import chromium, open_page, open_page_that_keeps_nothing
from tests.cast import browse_as, clock, desk, world
from tests.databases import (
    database,
    database_url,
    empty_postgres_url,
    postgres_cluster,
    postgres_reuse,
    postgres_url,
    sqlite_template,
    sqlite_url,
)
from tests.long_runs import pytest_addoption, pytest_collection_modifyitems, pytest_configure
from tests.scratch import use_memory
from tests.servers import app_server
from tests.skips import pytest_sessionfinish, pytest_sessionstart, pytest_terminal_summary
from tests.standing import network, standing, standing_all_along
from tests.statements import share_statements

__all__ = [
    "app_server",
    "browse_as",
    "chromium",
    "clock",
    "database",
    "database_url",
    "desk",
    "empty_postgres_url",
    "network",
    "open_page",
    "open_page_that_keeps_nothing",
    "postgres_cluster",
    "postgres_reuse",
    "postgres_url",
    "pytest_addoption",
    "pytest_collection_modifyitems",
    "pytest_configure",
    "pytest_sessionfinish",
    "pytest_sessionstart",
    "pytest_terminal_summary",
    "sqlite_template",
    "sqlite_url",
    "standing",
    "standing_all_along",
    "world",
]

use_memory()
share_statements()
