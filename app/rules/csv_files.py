"""Reads a file of values parted by commas or the like, from whoever made it: the bytes into rows of text."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256

_BOMS = ((b"\xef\xbb\xbf", "utf-8-sig", "UTF-8"), (b"\xff\xfe", "utf-16", "UTF-16"), (b"\xfe\xff", "utf-16", "UTF-16"))
_DELIMITERS = ",;\t|"


@dataclass(frozen=True)
class CsvFile:
    """A file as rows of text. header: the place of the row that names the columns, in rows."""

    encoding: str
    delimiter: str
    rows: tuple[tuple[str, ...], ...]
    header: int

    @property
    def columns(self) -> tuple[str, ...]:
        """The names of the columns; a column without a name is called by its place."""
        return tuple(name.strip() or f"Column {place}" for place, name in enumerate(self.rows[self.header], 1))

    @property
    def mark(self) -> str:
        """The same for files of the same maker: its column names."""
        return sha256("\x1f".join(self.columns).casefold().encode()).hexdigest()


def parse_csv_file(content: bytes, rows_most: int, advice: str, columns_least: int = 3) -> CsvFile:
    """Turn bytes into rows: by its mark of encoding, else strict UTF-8, else Windows-1252. Raises ValueError.

    advice: a sentence on where a good file comes from. The header is the first row in which enough columns hold words.
    """
    text, encoding = _decoded(content)
    if "\x00" in text or not text.strip():
        raise ValueError(f"This is not a file of text. {advice}")
    delimiter = _delimiter(text)
    try:
        rows = [tuple(row) for row in csv.reader(text.splitlines(), delimiter=delimiter, strict=False)]
    except csv.Error as error:
        raise ValueError(f"The rows of this file cannot be told apart. {advice}") from error
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    if len(rows) > rows_most:
        raise ValueError(f"This file has more than {rows_most:,} rows. Use a shorter one.")
    header = _header(rows, columns_least)
    if header is None:
        raise ValueError(f"No row of this file names at least {_WORDS[columns_least]} columns. {advice}")
    width = len(rows[header])
    return CsvFile(encoding, delimiter, tuple((*row, *[""] * (width - len(row)))[:width] for row in rows), header)


_WORDS = {2: "two", 3: "three"}


def _decoded(content: bytes) -> tuple[str, str]:
    for bom, codec, name in _BOMS:
        if content.startswith(bom):
            try:
                return content.decode(codec), name
            except UnicodeDecodeError as error:
                raise ValueError(f"This file says that it is {name}, and is not.") from error
    for codec, name in (("utf-8", "UTF-8"), ("cp1252", "Windows-1252")):
        try:
            return content.decode(codec), name
        except UnicodeDecodeError:
            continue
    raise ValueError("The letters of this file cannot be read. Save it as UTF-8 and try again.")


def _delimiter(text: str) -> str:
    sample = text.splitlines()[:50]
    counts = {each: sorted(len(row) for row in csv.reader(sample, delimiter=each)) for each in _DELIMITERS}
    return max(_DELIMITERS, key=lambda each: (counts[each][len(counts[each]) // 2], -_DELIMITERS.index(each)))


def _header(rows: Sequence[Sequence[str]], least: int) -> int | None:
    """The first row of enough cells that all hold words, not numbers or days; there may be a preamble above."""
    for place, row in enumerate(rows[:30]):
        named = [cell.strip() for cell in row if cell.strip()]
        if len(named) >= least and not any(re.search(r"\d", cell) for cell in named) and place + 1 < len(rows):
            return place
    return None
