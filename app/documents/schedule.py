"""The schedule of a certificate as data: one row an item, its readings sorted into columns, ready to draw."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from app.documents.typesetting import count_from, short_day_from
from app.rules.certificates import DefectFacts, ItemResult, ReadingFacts
from app.rules.points import Way, parse_measured_point
from app.rules.verdicts import FAILED, Outcome, Verdict

# Columns of the long schedule and the checks that stand in each; every other check stands in the last.
COLUMNS = (
    ("conductor", "Protective conductor", ("protective-conductor-resistance",)),
    ("insulation", "Insulation resistance", ("insulation-resistance",)),
    (
        "current",
        "Leakage current",
        ("protective-conductor-current", "touch-current", "substitute-leakage-current"),
    ),
    ("other", "Inspection and other checks", ()),
)
_PLACES = {check: key for key, _, checks in COLUMNS for check in checks}
_CURRENT_WORDS = {
    "protective-conductor-current": "conductor",
    "touch-current": "touch",
    "substitute-leakage-current": "substitute",
}
_SHORT_WORDS = {
    "visual": "visual",
    "functional": "function",
    "rcd-trip-time": "RCD",
}
_BOTH = "both ways"
_WAYS = (*(way.value for way in Way), "ways")
#: So many letters of a reading fit on a line of each column as it usually is; with more it is drawn wider.
_MOST_NARROW = {"conductor": 15, "insulation": 13, "current": 19, "other": 25}
#: Stands behind a limit that a house limit decided; the paper says what it means.
HOUSE_MARK = "†"
_DOUBTFUL = (Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL, Outcome.CONDITIONAL_PASS)


def schedule_from(rows: Sequence[ItemResult]) -> dict[str, Any]:
    """Give the rows, the columns that hold anything, and what stands below the next due date where it varies."""
    days = len({row.tested_on for row in rows if row.tested_on}) > 1
    people = len({row.technician for row in rows if row.technician}) > 1
    instruments = len({row.instrument for row in rows if row.instrument}) > 1
    drawn = [_row(row, days, people, instruments) for row in rows]
    used = {key for row in drawn for key, entries in row["cells"].items() if entries}
    return {
        "columns": [
            {"key": key, "head": head, "wide": _longest(drawn, key) > _MOST_NARROW[key]}
            for key, head, _ in COLUMNS
            if key in used
        ],
        "under_due": " ".join(word for word, varies in (("tested", days), ("by", people)) if varies),
        "rows": drawn,
    }


def _longest(rows: Sequence[dict[str, Any]], key: str) -> int:
    """The length of the longest text in a column, in letters."""
    entries = (entry for row in rows for entry in row["cells"][key])
    return max((len(entry["text"]) for entry in entries), default=0)


def item_from(row: ItemResult) -> dict[str, Any]:
    """Give what names an item: number, description, product, build, location."""
    serial = f"serial {row.serial}" if row.serial else ""
    product = " ".join(part for part in (row.make, row.model) if part)
    fuse = f"{row.fuse} fuse" if row.fuse else ""
    facts = (_capital(row.kind), row.construction, row.supply, row.rating)
    return {
        "number": row.number,
        "description": row.description,
        "product": ", ".join(part for part in (product, serial) if part),
        "build": ", ".join(part for part in (row.construction, row.rating, row.cord, fuse) if part),
        "class_and_load": ", ".join(part for part in facts if part),
        "cord_and_fuse": "; ".join(
            part for part in (", ".join(each for each in (row.cord, fuse) if each), row.rcd) if part
        ),
        "more": ", ".join(part for part in (row.kind, row.supply, row.rcd) if part),
        "location": row.location,
    }


def history_from(row: ItemResult) -> str:
    """Say in a line what was found first, what was done, and what the new test gave; nothing without such a turn."""
    parts = []
    for found in row.found_first:
        said = "; ".join(_in_short(reading) for reading in found.readings)
        parts.append(f"Found: {found.verdict.word} ({said}). Put right on the spot: {found.put_right.rstrip('.')}.")
    again = "not tested again" if row.not_tested_reason or not row.readings else row.verdict.word
    return " ".join([*parts, f"Tested again: {again}."]) if parts else ""


def _in_short(reading: ReadingFacts) -> str:
    name = _SHORT_WORDS.get(reading.check, reading.word)
    point = f", {reading.point}" if reading.point else ""
    return f"{name}{point} {reading.reading or reading.outcome.word}" + (
        f" {reading.outcome.word}" if reading.reading and reading.outcome in FAILED else ""
    )


def reason_from(row: ItemResult) -> str:
    """Say why an item is incomplete, or nothing."""
    if row.verdict != Verdict.INCOMPLETE:
        return ""
    if row.not_tested_reason:
        return f"Not tested: {_lower(row.not_tested_reason).rstrip('.')}."
    return row.incomplete_reason or "Not every required check was done."


def failing_sentences_from(row: ItemResult) -> list[str]:
    """Say, one sentence a failing check, what failed. What was only looked at is said by the item's defects."""
    return explained_from(row.readings, row.defects)


def explained_from(readings: Sequence[ReadingFacts], defects: Sequence[DefectFacts]) -> list[str]:
    """Say, one sentence a failing check, what failed in a set of readings; what was only looked at, the defects say."""
    return [
        _explained(reading) for reading in readings if reading.outcome in FAILED and (reading.reading or not defects)
    ]


def doubtful_sentences_from(row: ItemResult) -> list[str]:
    """Say, one sentence a check, what leaves the verdict of an item open."""
    return [_explained(reading) for reading in row.readings if reading.outcome in _DOUBTFUL]


def _row(row: ItemResult, days: bool, people: bool, instruments: bool) -> dict[str, Any]:
    """One row; the three switches say whether the day, the person and the instrument vary."""
    notes = [
        reason_from(row),
        history_from(row),
        *(f"{defect.text.rstrip('.')}." for defect in row.defects if defect.of_item and defect.text),
        *row.remarks,
        *row.advice,
        row.own_gap,
        row.note,
        f"Instrument {row.instrument}." if instruments and row.instrument else "",
    ]
    tested = [short_day_from(row.tested_on) if days else "", row.technician if people else ""]
    return item_from(row) | {
        "verdict": row.verdict.value,
        "word": "not tested" if row.not_tested_reason else row.verdict.word,
        "next_due": short_day_from(row.next_due_on),
        "looked_at_next": row.looked_at_next,
        "next_due_on": row.next_due_on.isoformat() if row.next_due_on else "",
        "tested": ", ".join(part for part in tested if part),
        "tested_on": row.tested_on.isoformat() if row.tested_on else "",
        "out_of_use": row.out_of_use,
        "notes": [note for note in notes if note],
        "cells": _cells(row.readings),
        "readings": [_reading(reading) for reading in row.readings],
        "found_first": [
            {"readings": [_reading(reading) for reading in found.readings], "put_right": found.put_right}
            for found in row.found_first
        ],
        "defects": [defect.text for defect in row.defects],
    }


def _reading(reading: ReadingFacts) -> dict[str, Any]:
    return {
        "check": reading.check,
        "name": _capital(reading.word) + (f", {reading.point}" if reading.point else ""),
        "reading": reading.reading,
        "limit": reading.limit,
        "working": reading.working,
        "source": reading.source,
        "margin": reading.margin,
        "note": reading.note,
        "outcome": reading.outcome.value,
        "word": reading.outcome.word,
        "bad": reading.outcome in FAILED,
        "house": reading.house,
        "jumped": reading.jumped,
    }


def _cells(readings: Sequence[ReadingFacts]) -> dict[str, list[dict[str, Any]]]:
    """Sort readings into columns. Checks without a number share an entry for each outcome: "Visual, polarity: pass"."""
    cells: dict[str, list[dict[str, Any]]] = {key: [] for key, _, _ in COLUMNS}
    words: dict[Outcome, list[str]] = {}
    measured: dict[tuple[str, str, bool], list[ReadingFacts]] = {}
    for reading in readings:
        key = _PLACES.get(reading.check, "other")
        if reading.reading:
            measured.setdefault((reading.check, reading.limit, reading.house), []).append(reading)
        elif key == "other":
            half = reading.check == "rcd-trip-time" and reading.point.startswith("0.5 ×")
            name = "RCD at ½ ×" if half else _SHORT_WORDS.get(reading.check, reading.word)
            if reading.check == "polarity" and reading.point and reading.outcome in FAILED:
                name = _crossed(readings)  # once for all of them
                if name in words.get(reading.outcome, []):
                    continue
            words.setdefault(reading.outcome, []).append(name)
        else:
            cells[key].append(_entry(reading.outcome.word, "", reading.outcome))
    cells["other"] = [_entry(_listed(names, outcome), "", outcome) for outcome, names in words.items()]
    for (check, limit, house), alike in measured.items():
        cells[_PLACES.get(check, "other")] += _measured(check, f"{limit} {HOUSE_MARK}" if house else limit, alike)
    return cells


def _crossed(readings: Sequence[ReadingFacts]) -> str:
    """Name the outlets whose polarity is wrong: "polarity at outlet 2, 4"."""
    points = [each.point for each in readings if each.check == "polarity" and each.point and each.outcome in FAILED]
    head = "outlet " if all(point.startswith("outlet ") for point in points) else ""
    return f"polarity at {head}{', '.join(point.removeprefix(head) for point in points)}"


def _measured(check: str, limit: str, readings: Sequence[ReadingFacts]) -> list[dict[str, Any]]:
    """One entry a reading; readings of one check with one limit name their points, and the limit follows once.

    Where all of several passed they share one entry: "Outlet 1, 2: 0.121, 0.122 Ω".
    """
    key = _PLACES.get(check, "other")
    entries = []
    readings = _both_ways(readings)
    if together := _together(readings):
        readings = [together]
    for place, reading in enumerate(readings, start=1):
        word = "" if reading.outcome == Outcome.PASS else f" {reading.outcome.word}"
        word += ", jumped" if reading.jumped else ""
        lead = f"{_capital(_SHORT_WORDS.get(check, reading.word))} " if key == "other" else ""
        point = f"{reading.point}: " if reading.point else ""
        shown = f"limit {limit}" if limit[:1].isdigit() else limit
        under = f"{shown} {_CURRENT_WORDS.get(check, '')}".strip() if place == len(readings) else ""
        entries.append(_entry(lead + point + reading.reading + word, under, reading.outcome))
    return entries


def _both_ways(readings: Sequence[ReadingFacts]) -> list[ReadingFacts]:
    """Join what passed both ways round at one place: "0.15 Ω both ways", or each with its way where they differ."""
    places: dict[str, list[tuple[ReadingFacts, Way | None]]] = {}
    for reading in readings:
        place, way = parse_measured_point(reading.point)
        places.setdefault(place, []).append((reading, way))
    found = []
    for place, pairs in places.items():
        if len(pairs) == 2 and all(way is not None and each.outcome is Outcome.PASS for each, way in pairs):
            said = ", ".join(f"{each.reading} {way}" for each, way in pairs)
            if pairs[0][0].reading == pairs[1][0].reading:
                said = f"{pairs[0][0].reading} {_BOTH}"
            found.append(replace(pairs[0][0], point=place, reading=said))
        else:
            found += [each for each, _ in pairs]
    return found


def _together(readings: Sequence[ReadingFacts]) -> ReadingFacts | None:
    """Join readings that passed at points of one kind, in one unit, to one; nothing where they do not fit together."""
    if len(readings) < 2 or any(reading.outcome is not Outcome.PASS or not reading.point for reading in readings):
        return None
    if all(reading.reading.endswith(f" {_BOTH}") for reading in readings):
        joined = _together([replace(each, reading=each.reading.removesuffix(f" {_BOTH}")) for each in readings])
        return joined and replace(joined, reading=f"{joined.reading} {_BOTH}")
    heads, _, points = zip(*(reading.point.rpartition(" ") for reading in readings), strict=True)
    values, spaces, units = zip(*(reading.reading.rpartition(" ") for reading in readings), strict=True)
    if len(set(heads)) > 1 or len(set(units)) > 1 or set(units) & set(_WAYS):
        return None
    point = f"{heads[0]} {', '.join(points)}".strip()
    return replace(readings[0], point=point, reading=", ".join(values) + spaces[0] + units[0])


def _entry(text: str, under: str, outcome: Outcome) -> dict[str, Any]:
    return {"text": text, "under": under, "outcome": outcome.value, "bad": outcome in FAILED}


def _listed(names: list[str], outcome: Outcome) -> str:
    """Name checks once each, with how often: "Visual, polarity (4 points): pass"."""
    counted = [
        name if names.count(name) == 1 else f"{name} ({count_from(names.count(name), 'point', 'points')})"
        for name in dict.fromkeys(names)
    ]
    return f"{_capital(', '.join(counted))}: {outcome.word}"


def _explained(reading: ReadingFacts) -> str:
    """The recorded sentence under the name of its check; without one, what the other fields say."""
    name = _capital(reading.word)
    place = f"{name}, {reading.point}" if reading.point else name
    if reading.sentence:
        said = reading.sentence
        told = reading.check == "rcd-trip-time" or said.startswith(f"{reading.point}: ")
        named = name if told else place
        text = said if said.startswith(name) else f"{named}: {said}"
    elif reading.reading:
        why = "; ".join(part for part in (reading.working, reading.source) if part)
        limit = f", limit {reading.limit}" if reading.limit else ""
        text = (
            f"{place}: {reading.reading}{limit}{f' ({why})' if why else ''}: {reading.margin or reading.outcome.word}"
        )
    else:
        text = f"{place}: {reading.outcome.word}"
    return " ".join(f"{part.rstrip('.')}." for part in (text, reading.note) if part)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    """Start a reason small after a colon, unless its first word is an abbreviation."""
    return text if text[:2].isupper() else text[:1].lower() + text[1:]
