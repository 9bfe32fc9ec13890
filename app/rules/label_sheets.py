"""Sheets of labels as a firm describes them: any grid on A4, or single labels for a roll printer. Lengths in mm.

The grid is columns and rows of equal labels, the place of the first one, and the gaps between them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

A4_MM = (Decimal(210), Decimal(297))
#: Sheets are cut by machine; a tenth of a millimetre is nobody's mistake.
SLACK_MM = Decimal("0.1")
WIDTH_MM = (Decimal(15), Decimal(210))
HEIGHT_MM = (Decimal(8), Decimal(297))
SHIFT_MOST_MM = Decimal(10)
COUNT_MOST = 30


class Feed(StrEnum):
    """How labels come out of the printer."""

    SHEET = "sheet"
    ROLL = "roll"

    @property
    def word(self) -> str:
        return {"sheet": "on A4 sheets", "roll": "one by one, from a roll"}[self.value]


class Codes(StrEnum):
    """Which codes a label carries. The QR code holds the item's address, the bars (Code 128) its number."""

    QR = "qr"
    BARS = "bars"
    BOTH = "both"

    @property
    def word(self) -> str:
        return {"qr": "QR code", "bars": "bars (Code 128)", "both": "QR code and bars (Code 128)"}[self.value]


class Dots(StrEnum):
    """Dots of the printer in an inch; codes are drawn in whole dots."""

    ROLL_203 = "203"
    ROLL_300 = "300"
    OFFICE_600 = "600"

    @property
    def word(self) -> str:
        return f"{self.value} dots in an inch"


@dataclass(frozen=True)
class LabelSheetDetails:
    """A kept description. From a roll, columns, rows, margins and gaps do not count."""

    name: str
    feed: Feed
    width_mm: Decimal
    height_mm: Decimal
    columns: int = 1
    rows: int = 1
    left_mm: Decimal = Decimal(0)
    top_mm: Decimal = Decimal(0)
    gap_across_mm: Decimal = Decimal(0)
    gap_down_mm: Decimal = Decimal(0)
    inset_mm: Decimal = Decimal("1.5")
    shift_right_mm: Decimal = Decimal(0)
    shift_down_mm: Decimal = Decimal(0)
    dots: Dots = Dots.OFFICE_600
    codes: Codes = Codes.QR
    shows_description: bool = True
    shows_next: bool = False
    shows_firm: bool = True

    @property
    def on_one(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows if self.feed == Feed.SHEET else 1

    @property
    def page_mm(self) -> tuple[Decimal, Decimal]:
        return A4_MM if self.feed == Feed.SHEET else (self.width_mm, self.height_mm)


@dataclass(frozen=True)
class LabelPlace:
    """Where a label is: the sheet, from 0, and its upper left corner in mm."""

    page: int
    x_mm: Decimal
    y_mm: Decimal


def check_label_sheet(sheet: LabelSheetDetails) -> dict[str, str]:
    """What is wrong with a description, by field name."""
    mistakes = {}
    if not sheet.name.strip():
        mistakes["name"] = "Give it a name, such as the words on its packet."
    for name, value, (least, most) in (
        ("width_mm", sheet.width_mm, WIDTH_MM), ("height_mm", sheet.height_mm, HEIGHT_MM),
        ("inset_mm", sheet.inset_mm, (Decimal(0), max(Decimal(2), min(sheet.width_mm, sheet.height_mm) / 4))),
        ("shift_right_mm", abs(sheet.shift_right_mm), (Decimal(0), SHIFT_MOST_MM)),
        ("shift_down_mm", abs(sheet.shift_down_mm), (Decimal(0), SHIFT_MOST_MM)),
    ):  # fmt: skip
        if not least <= value <= most:
            mistakes[name] = f"From {least.normalize():f} to {most.normalize():f} mm."
    if sheet.feed == Feed.ROLL:
        return mistakes
    for name, number in (("columns", sheet.columns), ("rows", sheet.rows)):
        if not 1 <= number <= COUNT_MOST:
            mistakes[name] = f"From 1 to {COUNT_MOST}."
    for name, value in (
        ("left_mm", sheet.left_mm), ("top_mm", sheet.top_mm),
        ("gap_across_mm", sheet.gap_across_mm), ("gap_down_mm", sheet.gap_down_mm),
    ):  # fmt: skip
        if value < 0:
            mistakes[name] = "It cannot be less than 0."
    return mistakes or _check_room(sheet)


def _check_room(sheet: LabelSheetDetails) -> dict[str, str]:
    across = sheet.left_mm + sheet.columns * sheet.width_mm + (sheet.columns - 1) * sheet.gap_across_mm
    down = sheet.top_mm + sheet.rows * sheet.height_mm + (sheet.rows - 1) * sheet.gap_down_mm
    mistakes = {}
    for name, needed, there, word in (
        ("columns", across, A4_MM[0], "wide"), ("rows", down, A4_MM[1], "high"),
    ):  # fmt: skip
        if needed > there + SLACK_MM:
            mistakes[name] = f"These labels need {needed.normalize():f} mm, and A4 is {there} mm {word}."
    return mistakes


def list_places(sheet: LabelSheetDetails, count: int, start: int = 1) -> Iterator[LabelPlace]:
    """Where so many labels go, along the rows, when the first `start` - 1 of the first sheet are used already.

    The shift of the printer is in the places. Raises ValueError for a start that is not on the sheet.
    """
    if not 1 <= start <= sheet.on_one:
        raise ValueError(f"This sheet has labels 1 to {sheet.on_one}.")
    for place in range(start - 1, start - 1 + count):
        page, on_page = divmod(place, sheet.on_one)
        row, column = divmod(on_page, sheet.columns if sheet.feed == Feed.SHEET else 1)
        x = sheet.left_mm + column * (sheet.width_mm + sheet.gap_across_mm) if sheet.feed == Feed.SHEET else Decimal(0)
        y = sheet.top_mm + row * (sheet.height_mm + sheet.gap_down_mm) if sheet.feed == Feed.SHEET else Decimal(0)
        yield LabelPlace(page, x + sheet.shift_right_mm, y + sheet.shift_down_mm)
