"""What a picture shows and where its marks stand: rows with an interval each, or columns, on a scale from 0.

Pages and papers draw from the same places, each at the width it has. Places are whole units of the drawing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal

WIDE, NARROW = 560, 340
ROW_HEIGHT, COLUMNS_HEIGHT = 38, 186
LEFT, RIGHT, TOP, BOTTOM = 46, 8, 14, 22


@dataclass(frozen=True)
class Row:
    """A value with its interval; word is printed beside the name."""

    name: str
    value: Decimal
    low: Decimal
    high: Decimal
    word: str


@dataclass(frozen=True)
class Column:
    """Values side by side, one a series; name stands below, word is what a reader hears of it."""

    name: str
    values: tuple[Decimal, ...]
    word: str
    late: bool = False


@dataclass(frozen=True)
class PlacedRow:
    row: Row
    y: int
    x: int
    low_x: int
    high_x: int


@dataclass(frozen=True)
class PlacedBar:
    """series counts from 0; late marks what should have been done already."""

    x: int
    y: int
    width: int
    height: int
    series: int
    late: bool
    word: str


@dataclass(frozen=True)
class Drawing:
    """A picture at one width. across: (x, word) below; up: (y, word) at the left."""

    width: int
    height: int
    rows: tuple[PlacedRow, ...] = ()
    bars: tuple[PlacedBar, ...] = ()
    across: tuple[tuple[int, str], ...] = ()
    up: tuple[tuple[int, str], ...] = ()
    base: int = 0


@dataclass(frozen=True)
class Picture:
    """A picture before it is drawn. sentence says what it shows; head and table are the numbers behind it."""

    title: str
    sentence: str
    head: tuple[str, ...]
    table: tuple[tuple[str, ...], ...]
    rows: tuple[Row, ...] = ()
    columns: tuple[Column, ...] = ()
    series: tuple[str, ...] = ()
    unit: str = ""
    note: str = ""

    @property
    def is_empty(self) -> bool:
        return not self.rows and not any(any(column.values) for column in self.columns)

    def shortened(self, most: int) -> "Picture":
        """The same with no more than so many rows drawn; the table stays whole."""
        return replace(self, rows=self.rows[:most])

    def drawn(self, width: int = WIDE) -> Drawing:
        return _rows_drawn(self, width) if self.rows else _columns_drawn(self, width)


def suggest_ticks(highest: Decimal, about: int = 4) -> tuple[Decimal, ...]:
    """Suggest round places on a scale from 0 that ends at or above a value: steps of 1, 2 or 5 times a power of ten."""
    if highest <= 0:
        return (Decimal(0), Decimal(1))
    rough = highest / about
    power = Decimal(10) ** rough.adjusted()
    step = next(times * power for times in (1, 2, 5, 10) if times * power >= rough)
    count = int((highest / step).to_integral_value(ROUND_CEILING))
    return tuple(step * place for place in range(count + 1))


def _rows_drawn(picture: Picture, width: int) -> Drawing:
    ticks = suggest_ticks(max(row.high for row in picture.rows))
    reach = width - 2 * RIGHT

    def across(value: Decimal) -> int:
        return RIGHT + round(value / ticks[-1] * reach)

    placed = tuple(
        PlacedRow(row, place * ROW_HEIGHT + 27, across(row.value), across(row.low), across(row.high))
        for place, row in enumerate(picture.rows)
    )
    base = len(placed) * ROW_HEIGHT
    words = tuple((across(tick), f"{_plain(tick)}{picture.unit}") for tick in ticks)
    return Drawing(width, base + BOTTOM, rows=placed, across=words, base=base)


def _columns_drawn(picture: Picture, width: int) -> Drawing:
    columns = picture.columns
    ticks = suggest_ticks(max((max(column.values) for column in columns), default=Decimal(0)))
    base, reach = COLUMNS_HEIGHT - BOTTOM, width - LEFT - RIGHT
    slot = Decimal(reach) / max(len(columns), 1)
    series = max((len(column.values) for column in columns), default=1)
    wide = max(int(slot * 7 / 10 / series), 2)
    every = -(-len(columns) * 34 // reach) if columns else 1

    def up(value: Decimal) -> int:
        return base - round(value / ticks[-1] * (base - TOP))

    bars, names = [], []
    for place, column in enumerate(columns):
        middle = LEFT + round(slot * place + slot / 2)
        begin = middle - wide * series // 2
        for number, value in enumerate(column.values):
            y = min(up(value), base - 1) if value else base
            bars.append(PlacedBar(begin + number * wide, y, wide - 1, base - y, number, column.late, column.word))
        # The first and the last are always named; between them there is room for some.
        last = len(columns) - 1
        if place == last or (place % every == 0 and last - place >= every):
            names.append((middle, column.name))
    marks = tuple((up(tick), f"{picture.unit if picture.unit == '£' else ''}{_plain(tick)}") for tick in ticks)
    return Drawing(width, COLUMNS_HEIGHT, bars=tuple(bars), across=tuple(names), up=marks, base=base)


def _plain(value: Decimal) -> str:
    text = f"{value:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def list_words(words: Sequence[str]) -> str:
    """One, two and three."""
    return " and ".join((", ".join(words[:-1]), words[-1])) if len(words) > 1 else "".join(words)
