"""A list as people take it away: what stands in its columns, row by row, to become a file."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

Cell = str | int | Decimal | date | None


@dataclass(frozen=True)
class Listing:
    """name is plain, for the file; rows have as many cells as head. Money is in pounds."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
