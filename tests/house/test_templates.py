"""Every template compiles with strict names and escapes; every page has a title; no piece borrows a macro."""

import pytest
from jinja2 import Environment, nodes
from jinja2.meta import find_undeclared_variables

from tests.house.environments import environment_for
from tests.house.tree import TEMPLATES

ALL = sorted(str(path.relative_to(TEMPLATES)) for path in TEMPLATES.rglob("*.html"))
PIECES = ("_", "ui/", "documents/")
PAGES = [name for name in ALL if not name.startswith(PIECES) and "/_" not in name]
FROM_JINJA = {"caller", "super", "loop", "range", "dict", "namespace", "cycler", "joiner", "lipsum"}


def read(name: str) -> tuple[Environment, str, nodes.Template]:
    environment, _ = environment_for(name)
    source = (TEMPLATES / name).read_text("utf-8")
    return environment, source, environment.parse(source, name)


@pytest.mark.parametrize("name", ALL)
def test_a_template_compiles_strict_and_escaped(name: str) -> None:
    environment, known_as = environment_for(name)
    assert environment.autoescape is True
    assert environment.undefined.__name__ == "StrictUndefined"
    environment.get_template(known_as)


@pytest.mark.parametrize("name", ALL)
def test_a_template_imports_the_macros_it_calls(name: str) -> None:
    # A piece that leans on the imports of the page around it fails when it is drawn alone.
    environment, _, tree = read(name)
    imported = {
        name if isinstance(name, str) else name[1] for node in tree.find_all(nodes.FromImport) for name in node.names
    }
    known = FROM_JINJA | set(environment.globals) | imported
    called = {call.node.name for call in tree.find_all(nodes.Call) if isinstance(call.node, nodes.Name)}
    assert not (called & find_undeclared_variables(tree)) - known


@pytest.mark.parametrize("name", PAGES)
def test_a_page_has_a_title(name: str) -> None:
    _, source, tree = read(name)
    own = {block.name for block in tree.find_all(nodes.Block)} | ({"title"} if "<title>" in source else set())
    assert "title" in own, "no title block of its own"
