"""The doors between rooms, and the doors through which libraries come in."""

import re
from pathlib import Path

import pytest

from tests.house.tree import APP, ROOMS, list_imports, list_modules, name_of

DOORS = {
    "rules": set(),
    "documents": {"rules"},
    "store": {"rules"},
    "actions": {"rules", "store", "documents"},
    "web": {"rules", "actions", "store"},
}
LIBRARIES = {
    "sqlalchemy": ("app.store.",),
    "alembic": ("app.store.",),
    "psycopg": ("app.store.",),
    "fastapi": ("app.web.", "app.main", "app.local_server"),
    "starlette": ("app.web.", "app.main"),
    "jinja2": ("app.web.", "app.documents.pdf"),
    "holidays": ("app.rules.bank_holidays",),
    "pyhanko": ("app.documents.signatures",),
    "vroom": ("app.rules.solved_proposals",),
    "weasyprint": ("app.documents.pdf",),
}
QUESTION = re.compile(r"(get|find|list|count|facts)_")
OUTSIDE = {"os", "pathlib", "random", "secrets", "socket", "sqlite3", "subprocess", "time", "urllib"}


@pytest.mark.parametrize("path", list_modules(), ids=name_of)
def test_a_module_imports_only_through_its_doors(path: Path) -> None:
    module, room = name_of(path), path.relative_to(APP).parts[0]
    for source, name in list_imports(path):
        library, *inner = source.split(".")
        if library == "app" and room in ROOMS:
            target = (inner or [name])[0]
            assert target == room or target in DOORS[room], f"{module} may not import {source}"
            if room == "web" and target == "store" and source != "app.store.database":
                is_question = QUESTION.match(name) or name[0].isupper()  # capitals: a type for hints
                assert is_question, f"{module} may only ask the store, not {name}"
        if (source, name) == ("sqlalchemy.orm", "Session") and room in {"actions", "web"}:
            continue
        if library in LIBRARIES and path.name != "__main__.py":
            assert module.startswith(LIBRARIES[library]), f"{module} may not import {library}"
        if room == "rules":
            assert library not in OUTSIDE, f"{module}: rules know no files, chance or clock ({source})"
