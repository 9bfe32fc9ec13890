"""What a label says, the address that its code holds, and the sizes of codes.

QR: quiet zone of 4 modules (ISO/IEC 18004). Code 128: quiet zones of 10 X (ISO/IEC 15417, GS1 General Specifications),
bars at least 6.35 mm high or 15 % of their length. The least module of 0.25 mm is ours.
"""

import re
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_DOWN, Decimal
from enum import StrEnum

from app.rules.items import NUMBER, ItemState
from app.rules.verdicts import Verdict

QR_QUIET_MODULES = 4
BARS_QUIET_MODULES = 10
MODULE_LEAST_MM = Decimal("0.25")
QR_MODULE_MOST_MM = Decimal("0.75")
BARS_MODULE_MOST_MM = Decimal("0.5")
BARS_HEIGHT_LEAST_MM = Decimal("6.35")
BARS_HEIGHT_SHARE = Decimal("0.15")
MM_PER_INCH = Decimal("25.4")
#: More labels than these are several sheets of paper and several orders.
LABELS_MOST = 1000

# Capitals, because a QR code holds those more tightly than small letters (ISO/IEC 18004, alphanumeric mode). A slash
# of the number stands as a colon, so that the number is one piece of the address.
_ADDRESS = re.compile(r"(?:HTTPS?://[^/\s]+(?:/[^\s]*)?)?/L/([0-9]{1,9})/([A-Z0-9.:-]{1,20})")
_ONE_CASE = re.compile(r"[a-z]+://[A-Za-z0-9.:-]+")


class Standing(StrEnum):
    """What a label says about the item that carries it."""

    NUMBER_ONLY = "number only"
    PASS = "pass"
    DO_NOT_USE = "do not use"


@dataclass(frozen=True)
class LabelFacts:
    """What one label can say. Without a standing it is a number for an item that is not tested, or not known yet."""

    number: str
    address: str
    description: str = ""
    standing: Standing = Standing.NUMBER_ONLY
    failed: bool = False
    tested_on: date | None = None
    initials: str = ""
    next_due_on: date | None = None
    #: A formal visual inspection falls due then, before a combined test or without one.
    looked_at_next: bool = False


@dataclass(frozen=True)
class ScannedLabel:
    """What the address on a label names."""

    customer_id: int
    number: str


def judge_standing(state: ItemState, verdict: str | None) -> Standing:
    """What an item's label says now: an item that failed or is out of use must not be used."""
    if state == ItemState.OUT_OF_USE or verdict == Verdict.FAIL:
        return Standing.DO_NOT_USE
    return Standing.PASS if verdict == Verdict.PASS else Standing.NUMBER_ONLY


def describe_label_address(public_address: str, customer_id: int, number: str) -> str:
    """The address in an item's code. It is no secret and needs no item to be there yet."""
    server = public_address.upper() if _ONE_CASE.fullmatch(public_address) else public_address
    return f"{server}/L/{customer_id}/{number.replace('/', ':')}"


def parse_label_address(text: str) -> ScannedLabel | None:
    """Read what a scanner typed, in whatever case; nothing when it is no label of ours. The server does not matter."""
    found = _ADDRESS.fullmatch(text.strip().upper())
    number = found[2].replace(":", "/") if found else ""
    return ScannedLabel(int(found[1]), number) if found and NUMBER.fullmatch(number) else None


def limit_module_mm(room_mm: Decimal, modules: int, dots_per_inch: int, most_mm: Decimal) -> Decimal | None:
    """The largest module of whole printer dots with which so many modules fit, or nothing below 0.25 mm."""
    dot = MM_PER_INCH / dots_per_inch
    dots = (min(room_mm / modules, most_mm) / dot).to_integral_value(ROUND_DOWN)
    module = dots * dot
    return module if module >= MODULE_LEAST_MM else None


def limit_bars_height_mm(length_mm: Decimal) -> Decimal:
    """How high bars of this length must be at least."""
    return max(BARS_HEIGHT_LEAST_MM, length_mm * BARS_HEIGHT_SHARE)


def list_run(first: str, count: int) -> list[str]:
    """A run of item numbers: the last digits counted on, as wide as they were. Raises ValueError without digits."""
    found = re.fullmatch(r"(.*?)(\d+)", first)
    if found is None:
        raise ValueError("A run of numbers begins with one that ends in digits.")
    stem, digits = found[1], found[2]
    return [f"{stem}{int(digits) + step:0{len(digits)}d}" for step in range(count)]
