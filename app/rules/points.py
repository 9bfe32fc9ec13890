"""Where a protective conductor was measured (a metal part, an outlet) and, on d.c., which way round."""

from enum import StrEnum


class Way(StrEnum):
    """The direction of a d.c. test current. A contact that rectifies shows in one of the two only."""

    FORWARD = "forward"
    REVERSED = "reversed"


def describe_measured_point(place: str, way: Way | None = None) -> str:
    """Write a place and the way round as one point: "outlet 2, reversed"."""
    return ", ".join(part for part in (place, way.value if way else "") if part)


def parse_measured_point(point: str) -> tuple[str, Way | None]:
    """Split a point into its place and the way round, None where it does not say."""
    place, comma, last = point.rpartition(", ")
    way = next((way for way in Way if way == last), None)
    return (place if comma else "", way) if way is not None else (point, None)


def list_half_measured(points: list[str]) -> list[str]:
    """List the places measured one way round only, with the way that is still to do, where any says its way at all."""
    ways: dict[str, set[Way]] = {}
    for point in points:
        place, way = parse_measured_point(point)
        if way is not None:
            ways.setdefault(place, set()).add(way)
    return [
        describe_measured_point(place, way) for place, measured in ways.items() for way in Way if way not in measured
    ]
