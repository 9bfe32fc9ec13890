"""Reads the fields of a case for the machine interface: what is there, of the right kind and size, or a problem with
its path. Nothing is guessed and nothing is passed over.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

Choice = TypeVar("Choice", bound=StrEnum)

_NUMBER = re.compile(r"[0-9]{1,15}(?:\.[0-9]{1,12})?")


class Fields:
    """The fields of one JSON object. Problems go into a list shared by the whole case, each with a JSON Pointer."""

    def __init__(self, data: object, path: str, problems: list[dict[str, str]]) -> None:
        self.path = path
        self.problems = problems
        self.seen: set[str] = set()
        self.data: Mapping[str, object] = {}
        if isinstance(data, Mapping):
            self.data = data
        else:
            self.problem("", "must be an object with named fields")

    def problem(self, key: str, message: str) -> None:
        self.problems.append({"path": f"{self.path}/{key}" if key else self.path or "/", "message": message})

    def has(self, key: str) -> bool:
        """Say whether the field is there and not null."""
        return self._take(key) is not None

    def _take(self, key: str) -> object:
        """The field's value, None where it is not there or null; from now on it counts as asked for."""
        self.seen.add(key)
        return self.data.get(key)

    def is_null(self, key: str) -> bool:
        """Say whether the field is there and is null."""
        self.seen.add(key)
        return key in self.data and self.data[key] is None

    def text(self, key: str, longest: int = 500) -> str:
        value = self._take(key)
        if value is None:
            return ""
        if not isinstance(value, str):
            self.problem(key, "must be text")
        elif len(value) > longest:
            self.problem(key, f"must be at most {longest} characters")
        else:
            return value
        return ""

    def flag(self, key: str, default: bool = False) -> bool:
        value = self._take(key)
        if value is None:
            return default
        if isinstance(value, bool):
            return value
        self.problem(key, "must be true or false")
        return default

    def choice(self, key: str, kind: type[Choice], required: bool = False) -> Choice | None:
        value = self._take(key)
        if value is None:
            if required:
                self.problem(key, f"is needed: one of {', '.join(kind)}")
            return None
        if isinstance(value, str) and value in kind._value2member_map_:
            return kind(value)
        self.problem(key, f"must be one of {', '.join(kind)}")
        return None

    def word(self, key: str, words: tuple[str, ...], required: bool = False) -> str | None:
        value = self._take(key)
        if value is None:
            if required:
                self.problem(key, f"is needed: one of {', '.join(words)}")
            return None
        if isinstance(value, str) and value in words:
            return value
        self.problem(key, f"must be one of {', '.join(words)}")
        return None

    def number(
        self, key: str, *, least: Decimal = Decimal(0), most: Decimal = Decimal(10) ** 12, above: bool = False
    ) -> Decimal | None:
        """Read a decimal, as text ("0.15") or as a JSON number; above refuses least itself."""
        shown = self._take(key)
        if shown is None:
            return None
        value = _decimal(shown)
        if value is None:
            minus = isinstance(shown, str) and shown.startswith("-")
            self.problem(key, "must not be below zero" if minus else 'must be a number such as "0.15"')
        elif value < least or (above and value == least):
            self.problem(key, f"must be {'above' if above else 'at least'} {least:f}")
        elif value > most:
            self.problem(key, f"must be at most {most:f}")
        else:
            return value
        return None

    def whole(self, key: str, least: int, most: int, default: int) -> int:
        value = self._take(key)
        if value is None:
            return default
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self.problem(key, f"must be a whole number from {least} to {most}")
        return default

    def list(self, key: str) -> list[object]:
        data = self.data[key]
        if isinstance(data, list | tuple):
            return [*data]
        self.problem(key, "must be a list")
        return []

    def close(self) -> None:
        """Report every field that nobody asked for: a misspelt name must not pass for a missing value."""
        for key in self.data:
            if key not in self.seen:
                self.problem(str(key), "is not a field known here")


def _decimal(value: object) -> Decimal | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, int):
        return Decimal(value)
    if isinstance(value, Decimal):
        return value if value.is_finite() else None
    if isinstance(value, float):
        # The shortest text that gives this number back is the one that was written in the file.
        found = Decimal(repr(value))
        return found if found.is_finite() else None
    if isinstance(value, str) and _NUMBER.fullmatch(value):
        return Decimal(value)
    return None
