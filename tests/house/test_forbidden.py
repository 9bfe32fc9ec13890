"""What may stand nowhere: ways round escaping and the content policy, addresses, paths of one machine."""

import re
from pathlib import Path

import pytest

from tests.house.tree import ROOT, TEMPLATES, list_files

# Written in two halves, so that this file does not hold them itself.
EVERYWHERE = {
    "a path of one machine": re.compile("/" + r"(?:work|root|home/\w+)/|[A-Z]:\\\\" + "Users"),
    "the host of a package registry": re.compile(r"(py" + r"pi|npm" + r"js|deb" + r"ian)\.org|python" + "hosted"),
    "something left to do": re.compile(r"\bTO" + r"DO\b|\bFIX" + r"ME\b"),
}
IN_TEMPLATES = {
    "escaping switched off": re.compile(r"\|\s*safe\b|autoescape\s+false|\bMarkup\("),
    "a script in the page": re.compile(r"<script(?![^>]*\ssrc=)|\son[a-z]+\s*=\s*[\"']|javascript:", re.I),
    "a style in the page": re.compile(r"\sstyle\s*=|<style", re.I),
    "something fetched from elsewhere": re.compile(r"(src|href|action)=[\"'](https?:)?//", re.I),
}
TEXT = (".py", ".html", ".css", ".js", ".md", ".toml", ".lock", ".json", ".csv", ".txt", ".svg", "")


def findings(path: Path, forbidden: dict[str, re.Pattern[str]]) -> list[str]:
    lines = path.read_text("utf-8").splitlines()
    return [
        f"{path.relative_to(ROOT)}:{number}: {what}"
        for number, line in enumerate(lines, 1)
        for what, pattern in forbidden.items()
        if pattern.search(line)
    ]


def test_nothing_forbidden_stands_in_any_file() -> None:
    ours = [path for path in list_files(*TEXT) if not path.name.startswith(("htmx-", "zxing-reader-"))]
    assert [finding for path in ours for finding in findings(path, EVERYWHERE)] == []


ALL = sorted(TEMPLATES.rglob("*.html"))


@pytest.mark.parametrize("path", ALL, ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_templates_stay_within_the_policy(path: Path) -> None:
    assert findings(path, IN_TEMPLATES) == []
