"""Three ways out that are watched: markup made in Python, databases opened elsewhere, addresses in locks."""

import re

from tests.house.tree import APP, ROOT

MAKES_MARKUP = {"app/web/filters.py"}


def users_of(pattern: str) -> set[str]:
    """The modules of the app in which the pattern occurs."""
    modules = APP.rglob("*.py")
    return {str(path.relative_to(ROOT)) for path in modules if re.search(pattern, path.read_text("utf-8"))}


def test_only_named_modules_make_markup() -> None:
    assert users_of(r"\bMarkup\(") <= MAKES_MARKUP


def test_only_the_store_opens_databases() -> None:
    assert users_of(r"\bcreate_engine\(|\bsqlite3?\.connect\(") <= {
        "app/store/database.py",
        "app/store/backups.py",
    }


def test_locks_hold_hashes_and_no_address() -> None:
    for name in ("requirements.lock", "requirements-test.lock"):
        text = (ROOT / name).read_text("utf-8")
        assert not re.search(r"://|--(extra-)?index|--find-links|--trusted", text)
        pinned = re.findall(r"^[a-z].*==.*\n(.*)", text, re.M)
        assert len(pinned) > 30
        assert all("--hash=sha256:" in following for following in pinned)
