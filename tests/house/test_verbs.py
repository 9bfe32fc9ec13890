"""The verb with which a public function may begin, by room. The machinery of a room is free."""

import ast
import re
from pathlib import Path

import pytest

from tests.house.tree import APP, list_modules, name_of, parse

RULES = "judge next total may check number limit parse convert suggest describe list count has"
STORE = "get find list count facts add remove change next"
WEB = "show list new edit save remove part download"
VERBS = {
    "rules": re.compile(rf"({RULES.replace(' ', '|')})_|rulebook_named$|class_i+$"),
    "store": re.compile(rf"({STORE.replace(' ', '|')})_"),
    "documents": re.compile(r"\w+_from$|to_pdf$"),
    "web": re.compile(rf"({WEB.replace(' ', '|')})_"),
}
NOT_A_DEED = re.compile(r"(get|find|list|count|facts|show|judge)_")
MACHINERY = {
    "app.store.database", "app.store.migrate", "app.store.backups",
    "app.web.kit", "app.web.fields", "app.web.filters", "app.web.access", "app.web.errors", "app.web.guard",
    "app.web.headers", "app.web.keyed_writes",
}  # fmt: skip


def public_functions(path: Path) -> list[str]:
    """The names of the functions at the top of a module that do not begin with a line."""
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    names = [node.name for node in parse(path).body if isinstance(node, kinds)]
    return [name for name in names if not name.startswith("_")]


NOUNS = [path for path in list_modules() if name_of(path) not in MACHINERY]


@pytest.mark.parametrize("path", NOUNS, ids=name_of)
def test_a_public_function_begins_with_a_verb_of_its_room(path: Path) -> None:
    room = path.relative_to(APP).parts[0]
    for name in public_functions(path):
        if room in VERBS:
            assert VERBS[room].match(name), f"{name_of(path)}.{name}: not a verb of {room}"
        if room == "actions":
            assert not NOT_A_DEED.match(name), f"{name_of(path)}.{name}: an action is a deed, not a question"
