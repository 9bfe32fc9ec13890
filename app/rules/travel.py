"""How long it takes to get from place to place, as an estimate: the straight line over the earth, lengthened by a
factor, at a speed. The firm chooses both, and a time that it typed for two places counts before any estimate.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

#: Mean radius of the earth in metres, R1 of WGS 84 (National Geospatial-Intelligence Agency, NGA.STND.0036, rounded).
EARTH_M = 6_371_009
METRES_A_MILE = Decimal("1609.344")  # exact: international yard, 1959
#: Times are shown and counted in steps of five minutes; anything finer would look surer than it is.
STEP = 5
#: The firm's own premises, among the ids of others.
BASE = 0


@dataclass(frozen=True)
class Point:
    """A place on the earth in degrees, north and east positive."""

    latitude: Decimal
    longitude: Decimal


@dataclass(frozen=True)
class Pace:
    """How the firm gets about: road_factor, how much longer than the straight line; speed_mph on the whole way;
    unknown_minutes where nothing is known of a place.
    """

    road_factor: Decimal = Decimal("1.4")
    speed_mph: int = 25
    unknown_minutes: int = 30


@dataclass(frozen=True)
class Stop:
    """A place that is driven to. miles: from the firm and back, as agreed for charging, where it is known."""

    id: int
    point: Point | None = None
    miles: Decimal | None = None


def check_point(latitude: Decimal | None, longitude: Decimal | None) -> dict[str, str]:
    """What is wrong with typed coordinates, by field name."""
    mistakes = {}
    if (latitude is None) != (longitude is None):
        missing = "latitude" if latitude is None else "longitude"
        mistakes[missing] = "Latitude and longitude belong together."
    if latitude is not None and not -90 <= latitude <= 90:
        mistakes["latitude"] = "A latitude lies between −90 and 90 degrees."
    if longitude is not None and not -180 <= longitude <= 180:
        mistakes["longitude"] = "A longitude lies between −180 and 180 degrees."
    return mistakes


def number_metres(one: Point, other: Point) -> int:
    """Work out the great-circle distance in whole metres.

    By the haversine formula (R. W. Sinnott, Virtues of the Haversine, Sky and Telescope 68, 1984).
    """
    north, south = math.radians(one.latitude), math.radians(other.latitude)
    across = math.radians(other.longitude - one.longitude)
    half = math.sin((south - north) / 2) ** 2 + math.cos(north) * math.cos(south) * math.sin(across / 2) ** 2
    return round(2 * EARTH_M * math.asin(math.sqrt(min(1, half))))


def number_minutes(metres: int, pace: Pace) -> int:
    """Estimate the minutes for a straight line, up to the next five; nothing for no distance."""
    miles = Decimal(metres) / METRES_A_MILE * pace.road_factor
    return _in_steps(math.ceil(miles * 60 / pace.speed_mph))


def number_travel(
    stops: Mapping[int, Stop], pace: Pace, typed: Mapping[tuple[int, int], int]
) -> dict[tuple[int, int], int]:
    """Give the minutes between any two places, both ways. BASE is the firm's own; typed has its pairs in either order.

    A typed time counts first; then the estimate from coordinates; from the firm, half of the agreed miles; else what
    the firm assumes where nothing is known.
    """
    minutes = {}
    for one in stops.values():
        for other in stops.values():
            pair = (one.id, other.id)
            fixed = typed.get(pair, typed.get((other.id, one.id)))
            minutes[pair] = 0 if one.id == other.id else _between(one, other, pace, fixed)
    return minutes


def _between(one: Stop, other: Stop, pace: Pace, fixed: int | None) -> int:
    if fixed is not None:
        return _in_steps(fixed)
    if one.point is not None and other.point is not None:
        return number_minutes(number_metres(one.point, other.point), pace)
    miles = other.miles if one.id == BASE else one.miles if other.id == BASE else None
    if miles is not None:
        return _in_steps(math.ceil(miles / 2 * 60 / pace.speed_mph))
    return _in_steps(pace.unknown_minutes)


def _in_steps(minutes: int) -> int:
    return -(-minutes // STEP) * STEP
