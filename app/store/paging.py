"""Pages of a long list, found from the row where one ended, so that the thousandth takes no longer than the first."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, or_, select
from sqlalchemy.orm import Session


@dataclass(frozen=True)
class Place:
    """Where a page begins: after the row of an id, or before one; neither means at the start."""

    after: int | None = None
    before: int | None = None


@dataclass(frozen=True)
class Page:
    """The rows of one page, and whether there are others on either side."""

    rows: list[Any]
    earlier: bool
    further: bool


def list_page(
    session: Session, query: Select[Any], order: Sequence[tuple[Any, bool]], row_id: Any, place: Place, size: int
) -> Page:
    """One page of a query. order: (column, whether it falls), the last one unique; no column may be empty.

    row_id: the column by which a place is named. A row that is gone begins the list anew.
    """
    backwards = place.before is not None
    at = place.before if backwards else place.after
    values = None
    if at is not None:
        values = session.execute(select(*(column for column, _ in order)).where(row_id == at)).first()
    if values is not None:
        query = query.where(_beyond(order, values, backwards))
    else:
        backwards = False
    falls = [(column, falling != backwards) for column, falling in order]
    query = query.order_by(*(column.desc() if falling else column.asc() for column, falling in falls))
    found = list(session.scalars(query.limit(size + 1)).unique())
    more, rows = len(found) > size, found[:size]
    if backwards:
        return Page(rows[::-1], earlier=more, further=True)
    return Page(rows, earlier=values is not None, further=more)


def _beyond(order: Sequence[tuple[Any, bool]], values: Any, backwards: bool) -> ColumnElement[bool]:
    """The rows that come after some values in the order, or before them."""
    ways = []
    for place, (column, falling) in enumerate(order):
        same = [order[number][0] == values[number] for number in range(place)]
        further = column < values[place] if falling != backwards else column > values[place]
        ways.append(and_(*same, further))
    first, falling = order[0]
    # Said twice, so that an index on the first column is used.
    reach = first <= values[0] if falling != backwards else first >= values[0]
    return and_(reach, or_(*ways))
