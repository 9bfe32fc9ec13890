"""The size of a module, the sentence at its head, its name, and what may not stand in it."""

import ast
from pathlib import Path

import pytest

from tests.house.tree import ROOT, list_files, list_modules, name_of, parse

LINES = 400
VAGUE = {"utils", "util", "helpers", "helper", "common", "manager", "managers", "service", "services", "misc"}
# A migration is never touched again once it is out, so it may be as long as the tables were many.
PYTHON = [path for path in list_files(".py") if path.stat().st_size and path.parent.name != "versions"]


@pytest.mark.parametrize("path", PYTHON, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_is_short_and_says_what_it_decides(path: Path) -> None:
    lines = len(path.read_text("utf-8").splitlines())
    assert lines <= LINES, f"{lines} lines: split it by noun"
    opening = ast.get_docstring(parse(path))
    assert opening, "it opens with no sentence"
    assert len(opening.split("\n\n")[0].splitlines()) <= 4, "its opening is longer than a few lines"


def test_no_file_has_a_vague_name() -> None:
    vague = [path for path in list_files(".py", ".html", ".css", ".js", ".md") if path.stem.lower() in VAGUE]
    vague += [path for path in ROOT.glob("*/**/") if path.name in VAGUE and ".venv" not in path.parts]
    assert not vague


# A probability, a trend, a distance or a place in a drawing is not a reading.
STATISTICS = {
    "app.rules.decisions", "app.rules.failure_pictures", "app.rules.failure_rates",
    "app.rules.travel", "app.rules.trends", "app.rules.charts", "app.rules.chart_words",
}  # fmt: skip
EXACT = [path for path in list_modules("rules") if name_of(path) not in STATISTICS]


@pytest.mark.parametrize("path", EXACT, ids=name_of)
def test_rules_count_in_decimals_only(path: Path) -> None:
    tree = parse(path)
    asking = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance"]
    asked = {id(inner) for call in asking for inner in ast.walk(call)}  # to refuse a float, one has to name it
    for node in ast.walk(tree):
        written = isinstance(node, ast.Constant) and isinstance(node.value, float)
        named = isinstance(node, ast.Name) and node.id == "float" and id(node) not in asked
        assert not (written or named), f"line {getattr(node, 'lineno', 0)}: a float"
