"""Reads the fields of a case for the machine interface: what is there, of the right kind and size, or a problem with
its path. Nothing is guessed and nothing is passed over.
"""

import json
import re
from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

Choice = TypeVar("Choice", bound=StrEnum)

#: Digits before and behind the point: more than any instrument shows, and few enough to be written out.
WHOLE_MOST, PLACES_MOST = 15, 12
_NUMBER = re.compile(rf"[0-9]{{1,{WHOLE_MOST}}}(?:\.[0-9]{{1,{PLACES_MOST}}})?")
_DIGITS = f"at most {WHOLE_MOST} digits before the point and {PLACES_MOST} behind it"


class JsonObject(dict[str, object]):
    """An object as it stood in a text of JSON; doubled names the fields that stood there twice."""

    doubled: tuple[str, ...] = ()


def parse_json(content: bytes) -> object:
    """Read JSON in UTF-8, with or without a byte order mark; numbers as decimals, fields that stand twice noted.

    Raises ValueError for what is no JSON or no UTF-8, RecursionError for what is nested too deeply.
    """

    def gathered(pairs: list[tuple[str, object]]) -> JsonObject:
        found = JsonObject(pairs)
        if len(found) < len(pairs):
            names = [name for name, _ in pairs]
            found.doubled = tuple(dict.fromkeys(name for name in names if names.count(name) > 1))
        return found

    return json.loads(content.decode("utf-8-sig"), parse_float=Decimal, object_pairs_hook=gathered)


class Fields:
    """The fields of one JSON object. Problems go into a list shared by the whole case, each with a JSON Pointer."""

    def __init__(self, data: object, path: str, problems: list[dict[str, str]]) -> None:
        self.path = path
        self.problems = problems
        self.seen: set[str] = set()
        self.data: Mapping[str, object] = {}
        if isinstance(data, Mapping):
            self.data = data
            for key in getattr(data, "doubled", ()):
                self.problem(_escaped(key), "stands here twice")
        else:
            self.problem("", "must be an object with named fields")

    def problem(self, key: str, message: str) -> None:
        """Note what is wrong with a field, or with a place below it such as readings/0; "/" is the whole."""
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
        elif not may_be_written(value):
            self.problem(key, "holds half a character (a lone surrogate)")
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
            self.problem(key, "must not be below zero" if minus else f'must be a number such as "0.15", {_DIGITS}')
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
        if isinstance(value, int | Decimal) and not isinstance(value, bool):
            found = _decimal(value)
            if found is not None and least <= found <= most and found == found.to_integral_value():
                return int(found)
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
                self.problem(_escaped(str(key)), "is not a field known here")


def _escaped(key: str) -> str:
    """A name as it stands in a JSON Pointer (RFC 6901)."""
    return key.replace("~", "~0").replace("/", "~1")


def may_be_written(value: str) -> bool:
    """Say whether a text can be written out: a lone surrogate, which JSON lets through, cannot."""
    return not any("\ud800" <= character <= "\udfff" for character in value)


def _decimal(value: object) -> Decimal | None:
    """The number as it was written, None for what is none or has more digits than are taken."""
    if isinstance(value, bool):
        return None
    if isinstance(value, str):
        return Decimal(value) if _NUMBER.fullmatch(value) else None
    if isinstance(value, float):
        # The shortest text that gives this number back is the one that was written in the file.
        value = Decimal(repr(value))
    if isinstance(value, int):
        value = Decimal(value)
    if not isinstance(value, Decimal) or not value.is_finite():
        return None
    if value == 0:
        return Decimal(0)
    _, digits, exponent = value.as_tuple()
    places = -int(exponent) - (len(digits) - len("".join(map(str, digits)).rstrip("0")))
    if value.adjusted() >= WHOLE_MOST or places > PLACES_MOST:
        return None
    return value if int(exponent) <= 0 else value.quantize(Decimal(1))
