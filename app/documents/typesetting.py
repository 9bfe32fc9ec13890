"""How text, dates, numbers and money look on paper, and how text is made safe to set.

Numbers never part from their units at a line end. A word of more than sixty characters gets places where it may
break, because the renderer's time grows with the square of an unbroken run.
"""

import re
from datetime import date
from decimal import Decimal

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_TIE = "\u00a0"
_BREAK = "\u200b"
_LONGEST_RUN = 60
_LONGEST_TEXT = 2000

_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufeff\ufff9-\uffff]")
_RUN = re.compile(rf"[^\s{_BREAK}]{{{_LONGEST_RUN + 1},}}")
_TIED = (
    (re.compile(r"(?<=\d) (?=(?:[mkMG]?Ω|[µmk]?A|[mk]?V|VA|k?W|m?s|m|mm|mm²|mW/cm²|W/m²|Ω/m|months?)(?![\w/]))"), _TIE),
    (re.compile(r"(?<=[≤≥<>=+×÷−]) (?=\d)"), _TIE),
    (re.compile(r"(?<=\d) (?=(?:items?|failed|needs?|was|were|is|are)\b)"), _TIE),
    (re.compile(rf"(?<=\d) (?=(?:{'|'.join(_MONTHS)}|{'|'.join(m[:3] for m in _MONTHS)})\b)"), _TIE),
    (re.compile(r"(?<=\d) (?=to \d)|(?<=\d to) (?=\d)|(?<=\btype) (?=[A-Z]\b)"), _TIE),
    (
        re.compile(r"(?<=\bBS) (?=(?:EN )?\d)|(?<=\bEN) (?=\d)|(?<=\b(?:IEC|ISO|VDE)) (?=\d)|(?<=\bDIN) (?=VDE\b)"),
        _TIE,
    ),
    (re.compile(r"(?<=\b[A-Z]\d) (?=\d[A-Z]{2}\b)|(?<=\b[A-Z]{2}\d) (?=\d[A-Z]{2}\b)"), _TIE),
)


def set_text_from(text: str) -> str:
    """Make text ready to set: no unseen characters, numbers tied to units, long runs breakable, length capped."""
    clean = _UNSEEN.sub("", text.replace("\r\n", "\n"))
    if len(clean) > _LONGEST_TEXT:
        clean = clean[: _LONGEST_TEXT - 1] + "…"
    for pattern, tie in _TIED:
        clean = pattern.sub(tie, clean)
    return _RUN.sub(_broken, clean)


def _broken(run: re.Match[str]) -> str:
    text, step = run.group(), _LONGEST_RUN // 2
    return _BREAK.join(text[start : start + step] for start in range(0, len(text), step))


def day_from(day: date | None) -> str:
    """4 March 2026; empty text for no date."""
    return "" if day is None else f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_day_from(day: date | None) -> str:
    """4 Mar 2026; empty text for no date."""
    return "" if day is None else f"{day.day} {_MONTHS[day.month - 1][:3]} {day.year}"


def span_from(first: date, last: date) -> str:
    """One day, or the first and last day of several: "3 to 5 March 2026"."""
    if first == last:
        return day_from(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {day_from(last)}"
    if first.year == last.year:
        return f"{first.day} {_MONTHS[first.month - 1]} to {day_from(last)}"
    return f"{day_from(first)} to {day_from(last)}"


def money_from(pounds: Decimal) -> str:
    """£1,234.50, with a real minus sign for less than nothing; more places only where the amount has them."""
    text = f"{abs(pounds):,f}"
    whole, _, part = text.partition(".")
    part = part.rstrip("0").ljust(2, "0")
    return f"{'−' if pounds < 0 else ''}£{whole}.{part}"


def number_from(number: Decimal) -> str:
    """Write a quantity or rate without needless zeros: 2.50 as 2.5, 20.0 as 20."""
    text = f"{abs(number):,f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'−' if number < 0 else ''}{text}"


def count_from(count: int, one: str, many: str) -> str:
    """1 item, 40 items."""
    return f"{count:,} {one if count == 1 else many}"
