"""Reads a bank's statement file: the bytes into rows of text, then, by columns and formats that a person chose, into
lines of money. Nothing is guessed silently: what was taken for granted comes back to be shown.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from hashlib import sha256
from typing import Any

from app.rules.csv_files import CsvFile, parse_csv_file

ROWS_MOST = 5000


class DateFormat(StrEnum):
    """How a bank writes its days."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"
    YEAR_FIRST = "year-first"
    WORDS = "words"

    @property
    def word(self) -> str:
        return {
            "day-first": "day first: 04/03/2026",
            "month-first": "month first: 03/04/2026",
            "year-first": "year first: 2026-03-04",
            "words": "month in letters: 4 Mar 2026",
        }[self.value]


class AmountFormat(StrEnum):
    """How a bank writes its pounds and pence."""

    POINT = "point"
    COMMA = "comma"

    @property
    def word(self) -> str:
        return {"point": "1,234.50", "comma": "1.234,50"}[self.value]


@dataclass(frozen=True)
class Mapping:
    """Which column says what, by place from 0; None: no column does. amount has a sign, paid_in has none."""

    day: int | None = None
    text: int | None = None
    amount: int | None = None
    paid_in: int | None = None
    reference: int | None = None
    payer: int | None = None
    date_format: DateFormat = DateFormat.DAY_FIRST
    amount_format: AmountFormat = AmountFormat.POINT


@dataclass(frozen=True)
class StatementLine:
    """One line of money that came in. mark tells it from every other; row is its place in the file from 1."""

    row: int
    day: date
    pence: int
    text: str
    reference: str
    payer: str
    mark: str


@dataclass(frozen=True)
class ReadStatement:
    """What a file came to: money in, how many lines were money out or nothing, and rows that cannot be read."""

    lines: tuple[StatementLine, ...]
    others: int
    problems: tuple[tuple[int, str], ...]


def parse_statement_file(content: bytes) -> CsvFile:
    """Turn bytes into rows. Raises ValueError."""
    return parse_csv_file(content, ROWS_MOST, "Ask the bank for its statement as CSV.")


_WORDS = {
    "day": r"\bdate\b|\bday\b|booked",
    "amount": r"^amount|^value\b(?!.*date)|\bamount\b",
    "paid_in": r"paid in|money in|credit(?!or)|\bin\b|receipts?",
    "text": r"descri|narrative|details|transaction|memo|particulars",
    "reference": r"\bref",
    "payer": r"name|payer|from|counter|payee|party",
}


def suggest_mapping(file: CsvFile) -> Mapping:
    """Suggest the columns from their names, and the formats from what stands in them."""
    found: dict[str, Any] = {}
    for meaning, pattern in _WORDS.items():
        for place, name in enumerate(file.columns):
            if place not in found.values() and re.search(pattern, name, re.I):
                found[meaning] = place
                break
    if "amount" in found and "paid_in" in found:
        found.pop("amount")
    if "text" not in found:
        free = [place for place in range(len(file.columns)) if place not in found.values()]
        if free:
            found["text"] = max(free, key=lambda place: max(len(row[place]) for row in file.rows[file.header + 1 :]))
    mapping = Mapping(**found)
    body = file.rows[file.header + 1 :]
    days = [row[mapping.day] for row in body if row[mapping.day].strip()] if mapping.day is not None else []
    fits = [each for each in DateFormat if days and all(_day(text, each) for text in days)]
    money = mapping.paid_in if mapping.paid_in is not None else mapping.amount
    commas = money is not None and any(re.search(r",\d{2}$", row[money].strip()) for row in body)
    return Mapping(
        **found,
        date_format=fits[0] if fits else DateFormat.DAY_FIRST,
        amount_format=AmountFormat.COMMA if commas else AmountFormat.POINT,
    )


def check_mapping(mapping: Mapping, columns: int) -> dict[str, str]:
    """What is wrong with the choice of columns, by field name."""
    mistakes = {}
    if mapping.day is None:
        mistakes["day"] = "Say which column holds the day."
    if mapping.text is None:
        mistakes["text"] = "Say which column holds the words."
    if (mapping.amount is None) == (mapping.paid_in is None):
        mistakes["amount"] = "Choose one column of money: with signs, or only what was paid in."
    for name in ("day", "text", "amount", "paid_in", "reference", "payer"):
        place = getattr(mapping, name)
        if place is not None and not 0 <= place < columns:
            mistakes[name] = "There is no such column."
    return mistakes


def parse_statement(file: CsvFile, mapping: Mapping) -> ReadStatement:
    """Read every row below the header. A row that cannot be read is a problem with its place, and stops nothing."""
    lines: list[StatementLine] = []
    problems: list[tuple[int, str]] = []
    seen: dict[str, int] = {}
    others = 0
    money = mapping.paid_in if mapping.paid_in is not None else mapping.amount
    if mapping.day is None or mapping.text is None or money is None:
        raise ValueError("The columns of day, words and money are needed.")
    for place, row in enumerate(file.rows[file.header + 1 :], file.header + 2):
        day = _day(row[mapping.day], mapping.date_format)
        pence = _pence(row[money], mapping.amount_format)
        if mapping.paid_in is not None and not row[money].strip():
            others += 1
        elif day is None:
            problems.append((place, f"“{row[mapping.day].strip()[:40]}” is no day of this format."))
        elif pence is None:
            problems.append((place, f"“{row[money].strip()[:40]}” is no amount of this format."))
        elif pence <= 0:
            others += 1
        else:
            text, reference, payer = (
                " ".join(row[column].split())[:300] if column is not None else ""
                for column in (mapping.text, mapping.reference, mapping.payer)
            )
            told = "\x1f".join((day.isoformat(), str(pence), text, reference, payer)).casefold()
            seen[told] = seen.get(told, 0) + 1
            mark = sha256(f"{told}\x1f{seen[told]}".encode()).hexdigest()
            lines.append(StatementLine(place, day, pence, text, reference, payer, mark))
    return ReadStatement(tuple(lines), others, tuple(problems))


_PATTERNS = {
    DateFormat.DAY_FIRST: ("%d/%m/%Y", "%d/%m/%y"),
    DateFormat.MONTH_FIRST: ("%m/%d/%Y", "%m/%d/%y"),
    DateFormat.YEAR_FIRST: ("%Y/%m/%d", "%Y%m%d"),
    DateFormat.WORDS: ("%d/%b/%Y", "%d/%B/%Y", "%d/%b/%y", "%d/%B/%y"),
}


def _day(text: str, form: DateFormat) -> date | None:
    """A day of this format; a time of day after it is passed over."""
    plain = re.sub(r"[T ]\d{1,2}:\d{2}.*$", "", text.strip())
    plain = re.sub(r"[-. /]+", "/", plain)
    for pattern in _PATTERNS[form]:
        try:
            day = datetime.strptime(plain, pattern).date()
        except ValueError:
            continue
        if 1990 <= day.year <= 2100:
            return day
    return None


def _pence(text: str, form: AmountFormat) -> int | None:
    """An amount in pence; a minus before or after it, brackets or DR make it less than nothing."""
    plain = re.sub(r"[£\s\u00a0]|GBP", "", text).replace("−", "-").upper()
    less = plain.startswith(("-", "(")) or plain.endswith(("-", "DR"))
    plain = re.sub(r"^[-+(]|[-+)]$|CR$|DR$", "", plain)
    group, point = (",", r"\.") if form == AmountFormat.POINT else (r"\.", ",")
    if not re.fullmatch(rf"(\d{{1,3}}({group}\d{{3}})+|\d{{1,9}})({point}\d{{1,2}})?", plain):
        return None
    digits = plain.replace(",", "") if form == AmountFormat.POINT else plain.replace(".", "").replace(",", ".")
    pence = int(Decimal(digits) * 100)
    return -pence if less else pence
