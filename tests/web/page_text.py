"""What a person reads on a page: its words without the markup, and the values that its fields show."""

import re
from html import unescape
from html.parser import HTMLParser

import httpx


class _Fields(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.values: dict[str, str] = {}
        self._select = self._area = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        name = given.get("name", "")
        if tag == "input" and name:
            if given.get("type") in ("checkbox", "radio"):
                if "checked" in given:
                    self.values[name] = given.get("value", "on")
            else:
                self.values.setdefault(name, given.get("value", ""))
        elif tag == "select":
            self._select = name
            self.values.setdefault(name, "")
        elif tag == "option" and "selected" in given:
            self.values[self._select] = given.get("value", "")
        elif tag == "textarea":
            self._area = name
            self.values[name] = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""

    def handle_data(self, data: str) -> None:
        if self._area:
            self.values[self._area] += data.removeprefix("\n")


def words_of(response: httpx.Response) -> str:
    """The words of a page in one line, with plain spaces."""
    text = re.sub(r"<(script|style|head)\b.*?</\1>", " ", response.text, flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def fields_of(response: httpx.Response) -> dict[str, str]:
    """What the fields of a page show, by name, as a browser would send them; without the form token."""
    parser = _Fields()
    parser.feed(response.text)
    return {name: value for name, value in parser.values.items() if name != "csrf"}
