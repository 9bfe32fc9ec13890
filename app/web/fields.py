"""Reads form fields: text, number, date, choice, tick. What is wrong is collected, and what was typed is kept."""

import re
from collections.abc import Iterator
from datetime import date, time
from decimal import Decimal
from enum import StrEnum
from typing import Any, TypeVar

from app.rules.quantities import parse_number
from app.rules.verdicts import Mistakes

Choice = TypeVar("Choice", bound=StrEnum)
NAME_MOST = 200
NOTE_MOST = 2000
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


class Form:
    """What was typed, and what is wrong with it. Templates ask for value(name) and mistake(name)."""

    def __init__(self, values: dict[str, str] | None = None, files: dict[str, bytes] | None = None) -> None:
        self.values = values or {}
        self.files = files or {}
        self.mistakes: dict[str, str] = {}

    @classmethod
    def showing(cls, **values: Any) -> "Form":
        """A form that shows what is kept: nothing as the empty text, a date as the browser's date field wants it."""
        return cls({name: _as_text(value) for name, value in values.items()})

    def value(self, name: str) -> str:
        return self.values.get(name, "")

    def mistake(self, name: str) -> str | None:
        return self.mistakes.get(name)

    def names(self, prefix: str) -> Iterator[str]:
        """The names of fields that begin with a prefix."""
        return (name for name in self.values if name.startswith(prefix))

    def blame(self, name: str, sentence: str) -> None:
        self.mistakes.setdefault(name, sentence)

    def text(self, name: str, most: int = NAME_MOST, needed: str = "") -> str:
        """One line of text. needed: the sentence when it is empty."""
        text = " ".join(CONTROL.sub("", self.value(name)).split())
        if len(text) > most:
            self.blame(name, f"Use at most {most} characters; there are {len(text)}.")
        if needed and not text:
            self.blame(name, needed)
        return text

    def lines(self, name: str, most: int = NOTE_MOST) -> str:
        """Text of several lines."""
        text = "\n".join(line.strip() for line in CONTROL.sub("", self.value(name)).splitlines()).strip()
        if len(text) > most:
            self.blame(name, f"Use at most {most} characters; there are {len(text)}.")
        return text

    def whole(self, name: str, least: int = 0, most: int = 1_000_000) -> int | None:
        """A whole number, or nothing."""
        text = self.value(name).strip()
        if not text:
            return None
        if not re.fullmatch(r"[0-9]{1,9}", text) or not least <= int(text) <= most:
            self.blame(name, f"Give a whole number from {least:,} to {most:,}.")
            return None
        return int(text)

    def needed_whole(self, name: str, sentence: str, most: int = 2**31) -> int:
        """A whole number that must be there, such as the id behind a choice."""
        number = self.whole(name, 1, most)
        if number is None:
            self.blame(name, sentence)
        return number or 0

    def number(self, name: str, least: str = "0", most: str = "1000000") -> Decimal | None:
        """A decimal number with comma or point, or nothing."""
        text = self.value(name).strip()
        if not text:
            return None
        try:
            value = parse_number(text)
        except ValueError as problem:
            self.blame(name, str(problem))
            return None
        if not Decimal(least) <= value <= Decimal(most):
            self.blame(name, f"Give a number from {least} to {most}.")
            return None
        return value

    def pence(self, name: str) -> int:
        """An amount of money in pounds, as pence; 0 when empty."""
        text = self.value(name).replace("£", "").replace(",", "").strip()
        if not text:
            return 0
        if not re.fullmatch(r"[0-9]{1,8}(\.[0-9]{1,2})?", text):
            self.blame(name, "Give an amount in pounds and pence, such as 45 or 1.35.")
            return 0
        return int(Decimal(text) * 100)

    def day(self, name: str, needed: str = "") -> date | None:
        """A date, as the browser's date field sends it (2026-03-04) or as people write it (4/3/2026)."""
        text = self.value(name).strip()
        if not text:
            if needed:
                self.blame(name, needed)
            return None
        british = re.fullmatch(r"(\d{1,2})[/. -](\d{1,2})[/. -](\d{4})", text)
        try:
            day = date(int(british[3]), int(british[2]), int(british[1])) if british else date.fromisoformat(text)
            if 1990 <= day.year <= 2100:
                return day
        except ValueError:
            pass
        self.blame(name, "Give a date such as 4/3/2026.")
        return None

    def clock(self, name: str) -> time | None:
        """A time of day, or nothing."""
        text = self.value(name).strip().replace(".", ":")
        if not text:
            return None
        try:
            return time.fromisoformat(text if len(text) > 4 else f"0{text}").replace(
                second=0, microsecond=0, tzinfo=None
            )
        except ValueError:
            self.blame(name, "Give a time such as 9:30.")
            return None

    def choice(self, name: str, kind: type[Choice], usual: Choice | None = None) -> Choice:
        """One of the words of an enum; usual when nothing was sent."""
        text = self.value(name)
        if not text and usual is not None:
            return usual
        try:
            return kind(text)
        except ValueError:
            self.blame(name, "Choose one of these.")
            return usual if usual is not None else next(iter(kind))

    def tick(self, name: str) -> bool:
        return self.value(name) not in ("", "0", "off")

    def version(self) -> int | None:
        """The version of the row that the form was opened with."""
        text = self.value("version")
        return int(text) if re.fullmatch(r"[0-9]{1,9}", text) else None

    def done(self) -> None:
        """Raises Mistakes when anything is wrong."""
        if self.mistakes:
            raise Mistakes(dict(self.mistakes))


def _as_text(value: Any) -> str:
    if value is None or value is False:
        return ""
    if value is True:
        return "yes"
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
