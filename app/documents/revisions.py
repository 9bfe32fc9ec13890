"""What a corrected certificate says of its correction: every difference from the one it replaces, and marked rows.

ISO/IEC 17025:2017, 7.8.8: a change is clearly identified, with its reason, and a new report names the old one.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from app.rules.quantities import describe_bound

# What of a row is compared, and what it is called; the rest of a row follows from these.
_OF_ROW = {
    "description": "Description",
    "product": "Make, model and serial number",
    "build": "Class, rating, cord and fuse",
    "location": "Place",
    "word": "Verdict",
    "next_due": "Next due",
    "tested_on": "Tested on",
}
_FOLLOWS = {"number", "cells", "class_and_load", "cord_and_fuse", "verdict", "tested", "next_due_on", "looked_at_next",
            "readings", "notes", "defects", "changed", *_OF_ROW}  # fmt: skip
# What certificates of an earlier version did not say: no change where only the newer one says it.
_SINCE_LATER = ("House limits", "Conductors")
_PARTICULARS = ("Tested", "Tested by", "Your reference")


@dataclass(frozen=True)
class Change:
    """One difference. item is its number, or empty for what the certificate says as a whole."""

    item: str
    what: str
    was: str
    now: str


def changes_from(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Change]:
    """List what differs between the data of two certificates of one visit, the cover first, then item by item."""
    found = [Change("", what, was, now) for what, was, now in _of_cover(old, new) if was != now]
    before = {row["number"]: row for row in old["schedule"]["rows"]}
    after = {row["number"]: row for row in new["schedule"]["rows"]}
    for number in dict.fromkeys((*after, *before)):
        was, now = before.get(number), after.get(number)
        if was is None or now is None:
            row = now or was or {}
            found.append(Change(number, row["description"], "" if was is None else "listed", "" if was else "added"))
            continue
        found += [Change(number, what, a, b) for what, a, b in _of_row(was, now) if a != b]
    return found


def correction_from(new: Mapping[str, Any], changes: list[Change], reason: str) -> dict[str, Any]:
    """Give the data of the correction: the new certificate's, with its reason, its changes and its changed rows."""
    changed = {change.item for change in changes if change.item}
    rows = [row | {"changed": row["number"] in changed} for row in new["schedule"]["rows"]]
    return dict(new) | {
        "schedule": new["schedule"] | {"rows": rows},
        "correction": {
            "reason": reason,
            "changes": [[change.item, change.what, change.was, change.now] for change in changes],
        },
    }


def _of_cover(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for key, what in (("customer", "Customer"), ("premises", "Place of the work")):
        yield what, _party(old[key]), _party(new[key])
    told = [dict(each["particulars"]) for each in (old, new)]
    for label in _PARTICULARS:
        yield label, *(each.get(label, "") for each in told)
    for key, what in (("absent", "Not presented"), ("instruments", "Instruments"), ("deviations", "Deviations")):
        yield what, _flat(old[key]), _flat(new[key])
    methods = [dict(each["method"]) for each in (old, new)]
    for label in methods[1]:
        if label in _SINCE_LATER and label not in methods[0]:
            continue
        yield label, *(each.get(label, "") for each in methods)
    yield "Note", old["note"], new["note"]
    yield "Letterhead", _flat(old["letterhead"]), _flat(new["letterhead"])


def _of_row(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for key, what in _OF_ROW.items():
        yield what, was[key], now[key]
    yield "Defects", _flat(was["defects"]), _flat(now["defects"])
    yield "Notes", _flat(was["notes"]), _flat(now["notes"])
    before, after = _readings(was), _readings(now)
    for name in dict.fromkeys((*before, *after)):
        yield name, before.get(name, ""), after.get(name, "")
    for key in now:  # whatever a later version says of an item beside these
        if key not in _FOLLOWS and key in was:
            yield key.replace("_", " ").capitalize(), _flat(was[key]), _flat(now[key])


def _readings(row: Mapping[str, Any]) -> dict[str, str]:
    """What was measured, by name; the second reading of one name carries its place."""
    found: dict[str, str] = {}
    for reading in row["readings"]:
        name, place = reading["name"], 2
        while name in found:
            name, place = f"{reading['name']} ({place})", place + 1
        limit = _as_shown(reading["limit"])
        parts = (reading["reading"], f"limit {limit}" if limit else "", reading["word"])
        found[name] = ", ".join(part for part in (*parts, reading["note"]) if part)
    return found


def _as_shown(limit: str) -> str:
    """A limit with as many digits as are shown now, for certificates of before (see number_shown)."""
    sign, _, rest = limit.partition(" ")
    number, _, unit = rest.partition(" ")
    if sign not in ("≤", "≥"):
        return limit
    return f"{sign} {describe_bound(Decimal(number), upper=sign == '≤')} {unit}"


def _party(party: Mapping[str, Any]) -> str:
    return ", ".join(part for part in (party["name"], *party["address"], party["more"]) if part)


def _flat(value: Any) -> str:
    """Lists and dictionaries of texts in one line."""
    if isinstance(value, Mapping):
        return ", ".join(text for text in map(_flat, value.values()) if text)
    if isinstance(value, list | tuple):
        return "; ".join(text for text in map(_flat, value) if text)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)
