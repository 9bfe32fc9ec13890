"""README.md and DEVELOPERS.md say what is there: paths that exist, and every setting."""

import re

import pytest

from tests.house.tree import APP, ROOT, list_modules

SPAN = re.compile(r"(?<!`)`([^`\n]+)`(?!`)")
LINK = re.compile(r"\]\((?!https?:|#)([^)\s]+)\)")
PATH = re.compile(r"\.?[\w*{},.-]+(/[\w*{},.-]+)*/?")
FILE = re.compile(r"\.(py|html|css|js|md|toml|lock|json|csv|svg|woff2|txt)$")
MADE_WHEN_RUN = ("var/", ".venv")
SETTING = re.compile(r"OHMSTEAD_[A-Z_]+")


def named_paths(text: str) -> list[str]:
    """Where links and pictures lead, and what stands in backticks and looks like a path."""
    words = [span.split()[0].removeprefix("./") for span in SPAN.findall(text) if span.strip()]
    return LINK.findall(text) + [
        word
        for word in words
        if PATH.fullmatch(word) and (FILE.search(word) or "/" in word) and not word.startswith(MADE_WHEN_RUN)
    ]


@pytest.mark.parametrize("paper", ["README.md", "DEVELOPERS.md"])
def test_every_named_path_exists(paper: str) -> None:
    names = named_paths((ROOT / paper).read_text("utf-8"))
    assert names, "it names no path at all"
    missing = [name for name in names if not (any(ROOT.glob(name)) or any(APP.glob(name)))]
    assert not missing


def test_every_setting_is_explained() -> None:
    explained = (ROOT / "README.md").read_text("utf-8") + (ROOT / "DEVELOPERS.md").read_text("utf-8")
    settings = set(SETTING.findall((APP / "settings.py").read_text("utf-8")))
    assert settings
    assert settings - set(SETTING.findall(explained)) == set(), "settings that nobody explains"


def test_settings_are_read_in_one_place() -> None:
    naming = {
        path.name for path in list_modules() if re.search(r"\.get\(.OHMSTEAD_|environ\[", path.read_text("utf-8"))
    }
    assert naming == {"settings.py"}
