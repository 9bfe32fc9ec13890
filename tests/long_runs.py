"""Tests that take an hour are marked "long": left out of an ordinary run, and the only ones with --long."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long tests, and only those")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "long: takes up to an hour; run with --long")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Choose by --long, and put what takes longest first. What is not chosen is deselected, not skipped."""
    wanted = bool(config.getoption("--long"))
    left_out = [item for item in items if (item.get_closest_marker("long") is not None) != wanted]
    kept = [item for item in items if item not in left_out]
    # Journeys come first: the short tests after them can be shared out evenly to the very end.
    items[:] = sorted(kept, key=lambda item: "journeys" not in item.path.parts)
    if left_out:
        config.hook.pytest_deselected(items=left_out)
