"""Where the words of a drawn history stand, and how large it is: no word upon another, else it is left out."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

WIDTH, HEIGHT = 640, 240
#: The width for a telephone, at which words of 12 px stay words of 12 px.
NARROW = 340
LEFT, RIGHT, TOP, BOTTOM = 64, 16, 16, 36
#: How wide a letter of the words is drawn at most, and how high a line is.
LETTER, LINE = 7.0, 14.0


@dataclass(frozen=True)
class Word:
    """A word of a drawing; anchor says which end of it stands at x, as SVG names it; y is its foot."""

    x: float
    y: float
    anchor: str
    text: str

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and foot."""
        wide = len(self.text) * LETTER
        left = self.x - {"start": 0.0, "middle": wide / 2, "end": wide}[self.anchor]
        return left, self.y - LINE + 3, left + wide, self.y + 3


def list_day_words(days: Iterable[date], across: Callable[[date], float]) -> tuple[tuple[float, str], ...]:
    """List below which places of a drawing a month stands: no word twice, none upon another; a first and a last day of
    one month are told as days. The first word begins at its place, the last ends there, any other has it in its middle.
    """
    shown = sorted(set(days))
    names = [f"{day:%b %Y}" for day in shown]
    if len(set(names)) < len(names) and names[0] == names[-1]:
        shown = [shown[0], shown[-1]]
        names = [f"{day.day} {day:%b %Y}" for day in shown]
    if len(shown) < 3:
        return tuple((across(day), name) for day, name in zip(shown, names, strict=True))
    places = [across(day) for day in shown]
    wide = len(names[0]) * LETTER
    between = [
        (place, name)
        for place, name in zip(places[1:-1], names[1:-1], strict=True)
        if name not in (names[0], names[-1])
        and place - wide / 2 > places[0] + wide + LETTER
        and place + wide / 2 < places[-1] - wide - LETTER
    ]
    return ((places[0], names[0]), *between, (places[-1], names[-1]))


def list_words(
    upright: Sequence[tuple[float, str]],
    limit: Sequence[tuple[float, float]],
    marks: Sequence[tuple[float, float]],
    line: Sequence[tuple[float, float]],
    width: int,
) -> tuple[Word, ...]:
    """List the words of upright lines and of the limit, each where it has room, else not."""
    taken = [(x - 8, y - 14, x + 8, y + 14) for x, y in marks]
    taken += [(x - 4, y - 1, x + 4, y + 1) for x, y in line]
    found: list[Word] = []

    def put(choices: Iterable[Word]) -> None:
        for word in choices:
            left, top, right, foot = word.box
            inside = left >= LEFT and right <= width and foot <= HEIGHT - BOTTOM
            if inside and not any(left < r and right > a and top < f and foot > t for a, t, r, f in taken):
                found.append(word)
                taken.append(word.box)
                return

    for x, text in upright:
        put(Word(x, TOP - 5, anchor, text) for anchor in ("middle", "end", "start"))
    if limit:
        ends = ((width - RIGHT - 6, limit[-1][1], "end"), (LEFT + 6, limit[0][1], "start"))
        put(Word(x, y + shift, anchor, "limit") for shift in (-5, 14) for x, y, anchor in ends)
    return tuple(found)
