"""How money, dates, numbers and words look on a page."""

import hashlib
import re
from calendar import month_name
from datetime import UTC, date, datetime, time
from decimal import Decimal
from enum import Enum
from functools import cache, lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from app.rules.bookings import describe_time
from app.rules.checks import Check
from app.rules.held_days import describe_days
from app.rules.item_words import list_fact_words
from app.rules.paces import describe_duration
from app.rules.quantities import Unit
from app.store.visits import VisitRow

ROOT = Path(__file__).resolve().parents[2]
NARROW_SPACE = "\u202f"
HARD_SPACE = "\u00a0"
_SYMBOLS = "|".join(sorted({re.escape(unit.symbol) for unit in Unit} | {"mm²", "m", "Ω/m", "%"}, key=len, reverse=True))
_UNIT = re.compile(rf"([0-9]) ({_SYMBOLS})(?![\w²])")
_SIGN = re.compile(r"([<>]) ([0-9])")
_MONTH = re.compile(rf"({'|'.join(month_name[1:])}) ([0-9]{{4}})(?![0-9])")


def show_date(day: date | None) -> str:
    """4 Mar 2026, with spaces that do not break."""
    return f"{day.day}{HARD_SPACE}{day:%b}{HARD_SPACE}{day.year}" if day else ""


def show_day(day: date | None) -> str:
    """Wed 4 Mar 2026."""
    return f"{day:%a}{HARD_SPACE}{show_date(day)}" if day else ""


def show_money(pence: int | None) -> str:
    """£1,234.50 from pence."""
    if pence is None:
        return ""
    return f"{'−' if pence < 0 else ''}£{abs(pence) // 100:,}.{abs(pence) % 100:02d}"


def show_number(value: Decimal | int | None) -> str:
    """A number without needless zeros."""
    if value is None:
        return ""
    text = f"{Decimal(value):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_word(value: Any) -> str:
    """The word of an enum, else its value with spaces for hyphens."""
    word = getattr(value, "word", None)
    if word is not None:
        return str(word)
    return str(value.value if isinstance(value, Enum) else value).replace("-", " ")


def show_check(check: Check) -> str:
    """The name of a check with a capital where a word begins; what is in capitals stays so: RCD trip time."""
    return check.word[:1].upper() + check.word[1:]


def show_plural(number: int, one: str, many: str = "") -> str:
    """3 items."""
    return f"{number:,}{HARD_SPACE}{one if number == 1 else many or one + 's'}"


def show_units(text: str) -> str:
    """A sentence in which no number is parted from its unit or its sign, and no month from its year."""
    for pattern in (_SIGN, _UNIT, _MONTH):
        text = pattern.sub(rf"\1{HARD_SPACE}\2", text)
    return text


def show_days(visit: VisitRow) -> str:
    """The day of a visit, or its days: Mon 9 to Fri 13 March 2026."""
    held = visit.held
    return show_day(visit.booked_on) if len(held) == 1 else describe_days([each.day for each in held])


def show_time(value: time | None) -> str:
    return value.strftime("%H:%M") if value else ""


@lru_cache(maxsize=256)
def _mark(path: str, changed_at: float) -> str:
    return hashlib.sha256((ROOT / "static" / path).read_bytes()).hexdigest()[:10]


def show_asset(path: str) -> str:
    """The address of a static file with a mark of its content, so that a new version is fetched at once."""
    return f"/static/{path}?v={_mark(path, (ROOT / 'static' / path).stat().st_mtime)}"


@lru_cache(maxsize=1)
def hash_of_build() -> str:
    """A mark of this build of the program: what a tablet keeps of another build is fetched again."""
    digest = hashlib.sha256()
    folders = (ROOT / "app", ROOT / "templates", ROOT / "static")
    for path in sorted(path for folder in folders for path in folder.rglob("*") if path.is_file()):
        if path.suffix != ".pyc":
            digest.update(str(path.relative_to(ROOT)).encode() + path.read_bytes())
    return digest.hexdigest()[:12]


@cache
def new_environment(zone: ZoneInfo) -> Environment:
    """The environment of every page: escaped always, strict about what is not there."""
    environment = Environment(
        loader=FileSystemLoader(ROOT / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )

    def show_when(moment: datetime | None) -> str:
        """4 Mar 2026, 14:05 in the firm's time zone."""
        if moment is None:
            return ""
        local = moment.replace(tzinfo=moment.tzinfo or UTC).astimezone(zone)
        return f"{show_date(local.date())}, {local:%H:%M}"

    environment.filters |= {
        "date": show_date,
        "day": show_day,
        "when": show_when,
        "money": show_money,
        "number": show_number,
        "word": show_word,
        "plural": show_plural,
        "fact_words": list_fact_words,
        "clock": show_time,
        "minute": describe_time,
        "days": show_days,
        "units": show_units,
        "hours": describe_duration,
    }
    environment.globals["asset"] = show_asset
    return environment
