"""A long paper as several files: a cover with everything a reader needs first, and its schedule in parts.

Each file is whole by itself. Pages are numbered through all of them, and the cover holds the SHA-256 of every part, so
that the signed cover vouches for them. How the rows are shared out is frozen with the paper's data.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from app.documents.readings_files import AttachedFile

#: So many rows stand in one file; measured: about 300 MiB and ten seconds, and twice as much for twice as many.
MOST_ROWS = 500
#: So many failed and open items are listed on the cover; more stand at the head of the part that has them.
MOST_ON_COVER = 300

_LISTS = ("failed", "put_right", "decisions", "open")
_OF_COVER_ALONE = (*_LISTS, "absent", "locations")


@dataclass(frozen=True)
class PartFile:
    """One part as it was drawn: its place from 1, its file, its pages in the whole paper, and what it lists."""

    place: int
    file_name: str
    sha256: str
    size_bytes: int
    first_page: int
    pages: int
    items: int
    first_item: str
    last_item: str

    @property
    def last_page(self) -> int:
        return self.first_page + self.pages - 1


def parted_data_from(data: Mapping[str, Any], most: int | None = None) -> dict[str, Any]:
    """Settle how the schedule is shared out: nothing changes up to so many rows, usually MOST_ROWS."""
    most = most or MOST_ROWS
    rows = len(rows_from(data))
    if rows <= most:
        return dict(data)
    parts = -(-rows // most)
    listed = sum(len(data.get(name, ())) for name in _LISTS)
    return dict(data) | {"rows_a_part": -(-rows // parts), "lists_in_parts": listed > MOST_ON_COVER}


def rows_from(data: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the rows between which a paper can be parted: those of its schedule or its groups. Most papers have none."""
    if "schedule" in data:
        return list(data["schedule"]["rows"])
    return [row for group in data.get("groups", ()) for row in group["rows"]]


def _with_rows(data: Mapping[str, Any], start: int, end: int) -> dict[str, Any]:
    """The schedule, or the groups, with these rows alone."""
    if "schedule" in data:
        return {"schedule": data["schedule"] | {"rows": data["schedule"]["rows"][start:end]}}
    groups, before = [], 0
    for group in data["groups"]:
        rows = group["rows"][max(start - before, 0) : max(end - before, 0)]
        before += len(group["rows"])
        groups += [group | {"rows": rows}] if rows else []
    return {"groups": groups}


def part_spans_from(data: Mapping[str, Any]) -> list[tuple[int, int]]:
    """Give the first row of each part and the row after its last; nothing for a paper in one file."""
    step, rows = data.get("rows_a_part"), len(rows_from(data))
    return [(start, min(start + step, rows)) for start in range(0, rows, step)] if step else []


def part_data_from(data: Mapping[str, Any], place: int, first_page: int = 1, pages: int = 1) -> dict[str, Any]:
    """Give what one part says. place counts from 1; pages are those of all files together."""
    spans = part_spans_from(data)
    start, end = spans[place - 1]
    own = _with_rows(data, start, end)
    numbers = {row["number"] for row in rows_from(own)}
    lists = {
        name: [item for item in data.get(name, ()) if data["lists_in_parts"] and item["number"] in numbers]
        for name in _LISTS
    }
    kept = {name: value for name, value in data.items() if name not in (*_OF_COVER_ALONE, "correction")}
    return kept | {
        **lists,
        **own,
        "part": {"place": place, "of": len(spans), "items": end - start},
        "numbering": {"first": first_page, "of": pages},
    }


def cover_data_from(data: Mapping[str, Any], parts: Sequence[PartFile], pages: int) -> dict[str, Any]:
    """Give what the cover says: all but the schedule, and instead of that the list of the parts."""
    cover = dict(data) | ({name: [] for name in _LISTS if name in data} if data["lists_in_parts"] else {})
    return cover | {
        **_with_rows(data, 0, 0),
        "layout": "parts",
        "parts": [asdict(part) | {"last_page": part.last_page} for part in parts],
        "numbering": {"first": 1, "of": pages},
    }


def planned_parts_from(data: Mapping[str, Any], stem: str, pages: Sequence[int]) -> Iterator[PartFile]:
    """Give the parts before they are drawn. pages: of the cover, then of each part."""
    page, rows = pages[0] + 1, rows_from(data)
    for place, (start, end) in enumerate(part_spans_from(data), start=1):
        name = f"{stem}-part-{place:02d}.pdf"
        yield PartFile(
            place, name, "0" * 64, 0, page, pages[place], end - start, rows[start]["number"], rows[end - 1]["number"]
        )
        page += pages[place]


def parts_files_from(data: Mapping[str, Any]) -> list[AttachedFile]:
    """Give what travels inside the cover: the list of the parts for a program to read."""
    number, made_at = data["number"], datetime.fromisoformat(data["issued_on"])
    whole = {"number": number, "issued_on": data["issued_on"], "pages": data["numbering"]["of"], "parts": data["parts"]}
    content = json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True).encode()
    return [AttachedFile(f"parts-{number}.json", f"The parts of {number}, as JSON", content, "Data", made_at)]
