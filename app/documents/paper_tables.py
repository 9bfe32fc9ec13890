"""Registers, lists of defects and histories as files for other programs, made from the paper's own frozen data."""

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from app.documents.readings_files import AttachedFile, table_csv_from

_SAID = ("title", "number", "issued_on", "as_at")
_ITEM = ("number", "premises", "location", "description", "product")
_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "register": (*_ITEM, "build", "state", "tested_on", "word", "next_due_on"),
    "defect_list": (*_ITEM, "state", "found_on", "defect", "remedy", "who_must_act"),
    "item_history": ("check", "day", "bound", "reading", "unit", "limit", "limit_text", "outcome"),
}


def paper_tables_from(data: Mapping[str, Any]) -> list[AttachedFile]:
    """Give the two files of a paper's data, CSV and JSON; the same data give the same bytes."""
    kind, number, made_at = data["paper"], data["number"], datetime.fromisoformat(data["issued_on"])
    name, told = f"{kind.replace('_', '-')}-{number}", f"{data['title']} {number}"
    if part := data.get("part"):
        name, told = f"{name}-part-{part['place']:02d}", f"{told}, part {part['place']} of {part['of']}"
    table = table_csv_from(_COLUMNS[kind], _LINES[kind](data))
    return [
        AttachedFile(f"{name}.csv", f"{told}, as a table", table, "Data", made_at),
        AttachedFile(f"{name}.json", f"{told}, as JSON", _json(data), "Data", made_at),
    ]


def _json(data: Mapping[str, Any]) -> bytes:
    whole = {name: data[name] for name in _SAID} | {
        "firm": data["letterhead"]["name"],
        "customer": data["customer"]["name"],
        "premises": data["premises"]["name"] if data["premises"] else "",
        "summary": data["summary"]["sentence"],
    }
    if data["paper"] == "item_history":
        charts = [{name: chart[name] for name in ("title", "unit", "readings")} for chart in data["charts"]]
        whole |= {"item": data["item"], "tests": data["tests"], "readings": charts}
    else:
        whole["items"] = [row for group in data["groups"] for row in group["rows"]]
    return json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True).encode()


def _register(data: Mapping[str, Any]) -> Iterator[list[str]]:
    for group in data["groups"]:
        for row in group["rows"]:
            yield [row[name] for name in _COLUMNS["register"]]


def _defects(data: Mapping[str, Any]) -> Iterator[list[str]]:
    for group in data["groups"]:
        for row in group["rows"]:
            for wrong in row["wrong"]:
                found = [wrong["found_on"], wrong["text"], wrong["remedy"]]
                duties = " ".join(f"{who}: {what}" for who, what in row["duties"])
                yield [*(row[name] for name in (*_ITEM, "state")), *found, duties]


def _history(data: Mapping[str, Any]) -> Iterator[list[str]]:
    for chart in data["charts"]:
        for each in chart["readings"]:
            value = [each["on"], each["bound"], each["value"], chart["unit"]]
            yield [chart["title"], *value, each["limit"], each["limit_text"], each["outcome"]]


_LINES: Mapping[str, Callable[[Mapping[str, Any]], Iterator[list[str]]]] = {
    "register": _register,
    "defect_list": _defects,
    "item_history": _history,
}
