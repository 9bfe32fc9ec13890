"""Reads the project's own files for the house tests: modules as syntax trees, imports, text files."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APP = ROOT / "app"
TEMPLATES = ROOT / "templates"
ROOMS = ("rules", "store", "actions", "documents", "web")
NOT_OURS = {".git", ".venv", ".hypothesis", "var", "node_modules"}


@cache
def parse(path: Path) -> ast.Module:
    """The syntax tree of a Python file."""
    return ast.parse(path.read_text("utf-8"), str(path))


def name_of(path: Path) -> str:
    """The dotted name of a module: app/store/visits.py is app.store.visits."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def list_files(*suffixes: str) -> Iterator[Path]:
    """Every file of the project with one of these suffixes, without caches, data and installed packages."""
    for path in sorted(ROOT.rglob("*")):
        parts = path.relative_to(ROOT).parts
        made = NOT_OURS & set(parts) or any("cache" in part for part in parts[:-1])
        if path.suffix in suffixes and not made and path.is_file():
            yield path


def list_modules(room: str = "") -> list[Path]:
    """The Python files of the app, or of one of its rooms."""
    return sorted((APP / room).rglob("*.py"))


def list_imports(path: Path) -> Iterator[tuple[str, str]]:
    """Every (module, name) that a file imports, in functions too; the name is empty for a plain import."""
    for node in ast.walk(parse(path)):
        if isinstance(node, ast.Import):
            yield from ((alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full, from app.…"
            yield from ((node.module or "", alias.name) for alias in node.names)
