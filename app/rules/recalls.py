"""Lists of recalled products: what the columns of a published list mean, and the notices that its rows come to."""

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from hashlib import sha256

from app.rules.csv_files import CsvFile, parse_csv_file

ROWS_MOST = 20_000
TEXT_MOST = 1000
#: Too short to find anything by.
LETTERS_LEAST = 2


class HitState(StrEnum):
    """proposed: by the program, nobody has looked. settled: what the recall asks for was done, by a person's word."""

    PROPOSED = "proposed"
    CONFIRMED = "confirmed"
    DISMISSED = "dismissed"
    SETTLED = "settled"

    @property
    def word(self) -> str:
        return {"proposed": "to be looked at", "settled": "dealt with"}.get(self.value, self.value)


@dataclass(frozen=True)
class Notice:
    """One recalled product as a list tells it. model, batch and serial may name several, or ranges."""

    make: str = ""
    model: str = ""
    batch: str = ""
    serial: str = ""
    product: str = ""
    hazard: str = ""
    advice: str = ""
    reference: str = ""

    @property
    def name(self) -> str:
        """What people call it."""
        words = " ".join(part for part in (self.make, self.model) if part)
        return ", ".join(part for part in (words, self.product) if part) or self.reference

    @property
    def mark(self) -> str:
        """The same for the same notice, whatever list it comes from and however its words are spaced."""
        told = "\x1f".join(" ".join(value.split()).casefold() for value in asdict(self).values())
        return sha256(told.encode()).hexdigest()


#: What can stand in a column, with the words by which its head is known.
MEANINGS = {
    "make": ("Make or brand", r"\bmake\b|brand|manufactur|maker"),
    "model": ("Model", r"model|type\b|item number|product (code|number)"),
    "batch": ("Batch or lot", r"batch|\blot\b|date code|production"),
    "serial": ("Serial numbers", r"serial"),
    "product": ("What it is", r"^(product|name|title|category|description)|product name"),
    "hazard": ("What is wrong with it", r"hazard|risk|danger|fault|defect|injury"),
    "advice": ("What to do", r"action|measure|remed|advice|what to do|corrective"),
    "reference": ("Number of the notice", r"reference|notice|alert|case|\bno\b|number|\bid\b"),
}


def parse_recall_file(content: bytes) -> CsvFile:
    """Turn bytes into rows. Raises ValueError."""
    return parse_csv_file(content, ROWS_MOST, "Save the list as CSV and try again.", columns_least=2)


def suggest_columns(file: CsvFile) -> dict[str, int]:
    """Suggest which column says what, from the heads."""
    found: dict[str, int] = {}
    for meaning, (_, pattern) in MEANINGS.items():
        for place, name in enumerate(file.columns):
            if place not in found.values() and re.search(pattern, name, re.I):
                found[meaning] = place
                break
    return found


def check_columns(columns: Mapping[str, int | None], width: int) -> dict[str, str]:
    """What is wrong with the choice of columns, by field name."""
    mistakes = {}
    if columns.get("make") is None and columns.get("serial") is None and columns.get("batch") is None:
        mistakes["make"] = "Say which column holds the make, or a batch or serial number. Nothing can be found without."
    for name, place in columns.items():
        if place is not None and not 0 <= place < width:
            mistakes[name] = "There is no such column."
    return mistakes


def list_notices(file: CsvFile, columns: Mapping[str, int | None]) -> tuple[tuple[Notice, ...], int]:
    """List the notices of a file, each once, and how many of its rows name nothing to look for."""
    found: dict[str, Notice] = {}
    empty = 0
    names = [each.name for each in fields(Notice)]
    for row in file.rows[file.header + 1 :]:
        values = {}
        for name in names:
            place = columns.get(name)
            values[name] = " ".join(row[place].split())[:TEXT_MOST] if place is not None else ""
        notice = Notice(**values)
        if max(len(notice.make), len(notice.batch), len(notice.serial)) < LETTERS_LEAST:
            empty += 1
            continue
        found.setdefault(notice.mark, notice)
    return tuple(found.values()), empty


def describe_recall(notice: Notice) -> str:
    """Say what is wrong, as the defect of an item."""
    reference = f" (notice {notice.reference})" if notice.reference else ""
    hazard = f": {notice.hazard}" if notice.hazard else ""
    return f"Recalled product{reference}: {notice.name}{hazard}"[:TEXT_MOST]


def describe_recall_remedy(notice: Notice) -> str:
    """Say what puts it right."""
    advice = notice.advice or "Do not use it. Ask its maker or seller what the recall asks for, and do that."
    return f"{advice} A pass at a test does not end a recall."[:TEXT_MOST]


def may_decide(state: HitState, to: HitState) -> str | None:
    """Say why a hit cannot go from one state to another, or nothing when it can."""
    ways = {
        HitState.PROPOSED: (HitState.CONFIRMED, HitState.DISMISSED),
        HitState.DISMISSED: (HitState.PROPOSED,),
        HitState.CONFIRMED: (HitState.SETTLED,),
        HitState.SETTLED: (),
    }
    if to in ways[state]:
        return None
    return f"This hit is {state.word} already."
