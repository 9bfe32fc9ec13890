"""The readings of a certificate as files for other programs: CSV with a line a reading, and JSON with all of it.

Both are made from the certificate's own frozen data, so that paper and files cannot disagree.
"""

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

COLUMNS = (
    "certificate", "item", "description", "product", "build", "location", "tested_on", "verdict", "next_due_on",
    "check", "measured", "reading_bound", "reading", "unit", "limit_bound", "limit", "limit_unit", "outcome", "note",
)  # fmt: skip

_NUMBER = re.compile(r"(?:([<>≤≥])\s)?([0-9]+(?:\.[0-9]+)?)(?:\s(\S+))?")
_WORDS = {"<": "below", ">": "above", "≤": "at most", "≥": "at least"}
# A program for sheets takes a cell that begins so for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class AttachedFile:
    """A file that travels inside a paper. relationship is the one of ISO 32000-2, 7.11.3."""

    name: str
    description: str
    content: bytes
    relationship: str
    made_at: datetime


def readings_files_from(data: Mapping[str, Any]) -> list[AttachedFile]:
    """Give the two files of a certificate's data; the same data give the same bytes."""
    number, made_at = data["number"], datetime.fromisoformat(data["issued_on"])
    named, stem = f"Readings of certificate {number}", f"readings-{number}"
    if part := data.get("part"):
        named, stem = f"{named}, part {part['place']} of {part['of']}", f"{stem}-part-{part['place']:02d}"
    return [
        AttachedFile(f"{stem}.csv", f"{named}, a line a reading", readings_csv_from(data), "Data", made_at),
        AttachedFile(f"{stem}.json", f"{named}, as JSON", readings_json_from(data), "Data", made_at),
    ]


def readings_csv_from(data: Mapping[str, Any]) -> bytes:
    """Write a line a reading, in UTF-8 with its mark, so that programs for sheets read Ω and é rightly."""
    return table_csv_from(COLUMNS, _lines(data))


def table_csv_from(columns: Iterable[str], lines: Iterable[list[str]]) -> bytes:
    """Write a table in UTF-8 with its mark; no cell can be run as a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for line in lines:
        writer.writerow([f"'{cell}" if cell.startswith(_FORMULA) else cell for cell in line])
    return out.getvalue().encode("utf-8-sig")


def readings_json_from(data: Mapping[str, Any]) -> bytes:
    """Write everything, numbers as the decimal text in which they were recorded."""
    whole = {
        "paper": data["title"],
        "number": data["number"],
        "issued_on": data["issued_on"],
        "firm": data["letterhead"]["name"],
        "customer": data["customer"]["name"],
        "premises": data["premises"],
        "method": dict(data["method"]),
        "instruments": data["instruments"],
        "items": [_item(row) for row in data["schedule"]["rows"]],
    }
    return json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True).encode()


def _lines(data: Mapping[str, Any]) -> Iterator[list[str]]:
    for row in data["schedule"]["rows"]:
        start = [data["number"], row["number"], row["description"], row["product"], row["build"], row["location"],
                 row["tested_on"], row["word"], row.get("next_due_on", "")]  # fmt: skip
        if not row["readings"]:
            yield [*start, *[""] * 9, " ".join(row["notes"])]
        for reading in row["readings"]:
            value, limit = _parts(reading["reading"]), _parts(reading["limit"])
            yield [*start, reading["check"], reading["name"], *value, *limit, reading["outcome"], reading["note"]]


def _item(row: Mapping[str, Any]) -> dict[str, Any]:
    kept = ("number", "description", "product", "build", "location", "tested_on", "verdict", "out_of_use", "notes")
    readings = [
        {"check": reading["check"], "name": reading["name"], "outcome": reading["outcome"]}
        | {name: reading[name] for name in ("working", "source", "margin", "note") if reading[name]}
        | {name: _number(reading[name]) for name in ("reading", "limit") if reading[name]}
        for reading in row["readings"]
    ]
    return {name: row[name] for name in kept} | {
        "next_due_on": row.get("next_due_on", ""),
        "defects": [text for text in row["defects"] if text],
        "readings": readings,
    }


def _number(text: str) -> dict[str, str]:
    bound, value, unit = _parts(text)
    return {"bound": bound, "value": value, "unit": unit}


def _parts(text: str) -> tuple[str, str, str]:
    """Part "> 20 MΩ" into above, 20 and MΩ; a text that is no number stays whole as the value."""
    found = _NUMBER.fullmatch(text.replace("\u00a0", " ").strip())
    if found is None:
        return "", text, ""
    return _WORDS.get(found[1] or "", ""), found[2], found[3] or ""
