"""Where everything on one label goes: code, words, bars. In mm from the label's upper left corner.

Words shrink by steps until they fit; then the firm and the description are left out or cut; a number never is. Codes
are drawn in whole dots of the printer, with their quiet zones inside the label.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import segno

from app.documents.bars import bars_from, bars_length_from
from app.documents.text_widths import cut_from, width_from
from app.documents.typesetting import short_day_from
from app.rules.label_sheets import Codes, LabelSheetDetails
from app.rules.labels import (
    BARS_MODULE_MOST_MM,
    BARS_QUIET_MODULES,
    MODULE_LEAST_MM,
    QR_MODULE_MOST_MM,
    QR_QUIET_MODULES,
    LabelFacts,
    Standing,
    limit_bars_height_mm,
    limit_module_mm,
)

Mark = dict[str, Any]
LARGEST_MM, SMALLEST_MM, SMALLEST_WITH_ALL_MM = 3.6, 1.6, 1.9
SHRINK = 0.95
LINE, ASCENT = 1.2, 0.94
#: Words need this much height beside the bars, or the label is too small for both.
WORDS_LEAST_MM = 4.5


@dataclass(frozen=True)
class Line:
    """One line of words: its size against the others, and what may happen to it where there is little room.

    texts: wordings, the longest first. may_go: 0 never; of two, the higher goes first.
    """

    texts: tuple[str, ...]
    size: float = 1.0
    bold: bool = False
    shape: str = ""
    least_mm: float = SMALLEST_MM
    may_go: int = 0
    may_be_cut: bool = False


@dataclass(frozen=True)
class Room:
    """A rectangle in mm; words stand in its middle, or at its left edge."""

    left: float
    top: float
    right: float
    bottom: float
    centred: bool = False


def arrangement_from(sheet: LabelSheetDetails, label: LabelFacts, firm: tuple[str, ...] = ()) -> list[Mark]:
    """Give the marks of one label. firm: wordings of who to ask, the longest first.

    Raises ValueError with a sentence where something that must be there has no room.
    """
    width, height, inset = float(sheet.width_mm), float(sheet.height_mm), float(sheet.inset_mm)
    room = Room(inset, inset, width - inset, height - inset)
    marks = []
    if sheet.codes != Codes.BARS:
        code, room = _qr(sheet, label, room)
        marks.append(code)
    if sheet.codes != Codes.QR:
        bars, room = _bars(sheet, label, room)
        marks.append(bars)
    return marks + _words(list(_lines(sheet, label, firm)), room, label.number)


def _lines(sheet: LabelSheetDetails, label: LabelFacts, firm: tuple[str, ...]) -> Iterator[Line]:
    yield Line((label.number,), 1.7, bold=True, least_mm=1.8)
    day, initials = short_day_from(label.tested_on), label.initials
    by = f", {initials}" if initials else ""
    if label.standing == Standing.DO_NOT_USE:
        yield Line(("DO NOT USE",), 1.5, bold=True, shape="fail", least_mm=1.8)
        failed = f"Failed {day}{by}", f"{day} {initials}".strip()
        yield Line(failed if label.failed and day else ("Out of use",))
    elif label.standing == Standing.PASS:
        yield Line(("Pass",), 1.35, bold=True, shape="pass", least_mm=1.8)
        if day:
            yield Line((f"Tested {day}{by}", f"{day} {initials}".strip()))
        if sheet.shows_next and label.next_due_on:
            due = short_day_from(label.next_due_on)
            words = (f"Next inspection {due}", f"Inspect {due}") if label.looked_at_next else (f"Next test {due}",)
            yield Line((*words, f"Next {due}"))
    if sheet.shows_description and label.description:
        yield Line((label.description,), may_go=1, may_be_cut=True)
    if sheet.shows_firm and firm:
        yield Line(firm, 0.85, may_go=2)


def _words(lines: list[Line], room: Room, number: str) -> list[Mark]:
    """The largest words that fit; what may go, goes before everything becomes hard to read."""
    for kept in (3, 2, 1):
        wanted = [line for line in lines if line.may_go < kept]
        if kept < 3 and len(wanted) == len([line for line in lines if line.may_go < kept + 1]):
            continue
        least = SMALLEST_WITH_ALL_MM if any(line.may_go for line in wanted) else SMALLEST_MM
        size = LARGEST_MM
        while size >= least:
            if marks := _set(wanted, room, size):
                return marks
            size *= SHRINK
    raise ValueError(f"There is no room on such a label for what must be on it (number {number}). Make it larger.")


def _set(lines: list[Line], room: Room, size: float) -> list[Mark]:
    """The marks of all lines at this size, or none when they do not fit."""
    across, down = room.right - room.left, room.bottom - room.top
    fitted = []
    for line in lines:
        text, mm = _fitted(line, across, size)
        if not text and not line.may_go:
            return []
        fitted.append((line, text, mm))
    fitted = [each for each in fitted if each[1]]
    total = sum(mm * LINE for _, _, mm in fitted)
    if total > down:
        return []
    marks, y = [], room.top + (down - total) / 2
    for line, text, mm in fitted:
        shape_mm = mm * 1.15 if line.shape else 0.0
        x = room.left
        if room.centred:
            x += (across - width_from(text, line.bold) * mm - shape_mm) / 2
        if line.shape:
            marks.append(_mark(shape=line.shape, x=x, y=y + mm * 0.12, size=mm))
        marks.append(_mark(text=text, x=x + shape_mm, y=y + mm * ASCENT, size=mm, weight=600 if line.bold else 400))
        y += mm * LINE
    return marks


def _fitted(line: Line, across: float, size: float) -> tuple[str, float]:
    """The wording and size of one line: the longest wording that needs little shrinking, else the shortest, shrunk."""
    wanted = size * line.size
    least = max(line.least_mm, SMALLEST_WITH_ALL_MM * line.size if line.may_go else 0.0)
    for place, text in enumerate(line.texts):
        mm = wanted
        last = place == len(line.texts) - 1
        floor = least if last and not line.may_be_cut else max(least, wanted * 0.8)
        while mm >= min(floor, wanted) and _needs(line, text, mm) > across:
            mm *= SHRINK
        if mm >= min(floor, wanted):
            return text, mm
    if not line.may_be_cut:
        return "", 0.0
    mm = max(min(least, wanted), wanted * 0.8)
    return cut_from(line.texts[-1], across / mm * 0.985, line.bold), mm


def _needs(line: Line, text: str, mm: float) -> float:
    return width_from(text, line.bold) * mm * 1.015 + (mm * 1.15 if line.shape else 0.0)


def _qr(sheet: LabelSheetDetails, label: LabelFacts, room: Room) -> tuple[Mark, Room]:
    """The code at the left of a wide label, at the head of another; and the room that it leaves."""
    width, height, inset = float(sheet.width_mm), float(sheet.height_mm), float(sheet.inset_mm)
    wide = width >= 1.25 * height
    matrix = segno.make(label.address, error="m", micro=False).matrix
    modules = len(matrix) + 2 * QR_QUIET_MODULES
    most = Decimal(str(min(height, width * 0.55) if wide else min(width, height * 0.6)))
    module = limit_module_mm(most, modules, int(sheet.dots), QR_MODULE_MOST_MM)
    if module is None:
        side = MODULE_LEAST_MM * modules
        need = f"{side:.1f} mm high and {side / Decimal('0.55'):.0f} mm wide"
        raise ValueError(f"A QR code with your address needs a label at least {need}. Choose bars, or a larger label.")
    mm, quiet = float(module), float(module) * QR_QUIET_MODULES
    across = modules * mm
    x, y = (max(0.0, inset - quiet), (height - across) / 2) if wide else ((width - across) / 2, max(0.0, inset - quiet))
    path = "".join(_row(row, number) for number, row in enumerate(matrix))
    left = Room(x + across, room.top, room.right, room.bottom)
    below = Room(room.left, y + across, room.right, room.bottom, centred=True)
    return _mark(path=path, x=x + quiet, y=y + quiet, size=mm, dots=int(sheet.dots)), left if wide else below


def _row(row: bytes | bytearray, number: int) -> str:
    """The dark runs of one row. Each reaches a hair into the next row, so that no white line shows between them."""
    path, start = "", -1
    for place, dark in enumerate([*row, 0]):
        if dark and start < 0:
            start = place
        elif not dark and start >= 0:
            path += f"M{start} {number}h{place - start}v1.02h-{place - start}z"
            start = -1
    return path


def _bars(sheet: LabelSheetDetails, label: LabelFacts, room: Room) -> tuple[Mark, Room]:
    """The bars at the foot of the room, and the room above them."""
    inset = float(sheet.inset_mm)
    # The quiet zones may reach into the margin of the label, which is blank too.
    left = room.left if sheet.codes == Codes.BOTH and not room.centred else room.left - inset
    right = room.right + inset
    length = bars_length_from(label.number)
    modules = length + 2 * BARS_QUIET_MODULES
    module = limit_module_mm(Decimal(str(right - left)), modules, int(sheet.dots), BARS_MODULE_MOST_MM)
    if module is None:
        raise ValueError(
            f"Bars for the number {label.number} need {MODULE_LEAST_MM * modules:.1f} mm, and there are "
            f"{right - left:.1f} mm for them. Choose the QR code alone, or a wider label."
        )
    mm = float(module)
    tall = float(limit_bars_height_mm(module * length))
    top = room.bottom - tall
    if top - room.top < WORDS_LEAST_MM:
        raise ValueError(f"Bars and words need a label at least {tall + WORDS_LEAST_MM + 2 * inset:.1f} mm high.")
    path = "".join(f"M{place} 0h{width}v{tall / mm:.2f}h-{width}z" for place, width in bars_from(label.number))
    x = left + (right - left - length * mm) / 2
    above = Room(room.left, room.top, room.right, top - 0.5, room.centred)
    return _mark(path=path, x=x, y=top, size=mm, dots=int(sheet.dots)), above


def _mark(**told: Any) -> Mark:
    return {name: round(value, 4) if isinstance(value, float) else value for name, value in told.items()}
