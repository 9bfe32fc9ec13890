"""Distances over the earth against published worked values; typed times before estimates."""

from decimal import Decimal

from app.rules.travel import BASE, EARTH_M, Pace, Point, Stop, check_point, number_metres, number_minutes, number_travel


def point(latitude: str, longitude: str) -> Point:
    return Point(Decimal(latitude), Decimal(longitude))


def test_distances_are_those_of_published_worked_values() -> None:
    # Rosetta Code, Haversine formula: Nashville to Los Angeles, 2886.444 km on a sphere of 6371 km.
    airports = number_metres(point("36.12", "-86.67"), point("33.94", "-118.40"))
    assert abs(airports - 2_886_444 * EARTH_M / 6_371_000) < 2
    # C. Veness, Calculate distance between latitude/longitude points: near Land's End to near John o' Groats, 968.9 km.
    ends = number_metres(point("50.066389", "-5.714722"), point("58.643889", "-3.070000"))
    assert abs(ends - 968_900) < 100
    # The nautical mile was a minute of a great circle; 1852 m by definition (First International Extraordinary
    # Hydrographic Conference, Monaco 1929). Half way round is half of a great circle.
    assert abs(number_metres(point("0", "10"), point("0", f"{10 + 1 / 60:.9f}")) - 1852) < 3
    assert abs(number_metres(point("0", "0"), point("0", "180")) - round(3.141592653589793 * EARTH_M)) <= 1
    assert number_metres(point("54.1", "-2.2"), point("54.1", "-2.2")) == 0


def test_minutes_follow_factor_and_speed_up_to_the_next_five() -> None:
    # 10 miles of straight line are 14 of road; at 28 mph half an hour, by plain arithmetic.
    assert number_minutes(16_093, Pace(Decimal("1.4"), 28)) == 30
    assert number_minutes(16_200, Pace(Decimal("1.4"), 28)) == 35
    assert number_minutes(0, Pace()) == 0


def test_a_typed_time_counts_before_the_estimate_and_agreed_miles_before_the_assumption() -> None:
    here, there = point("54.0", "-2.0"), point("54.1", "-2.0")
    stops = {
        BASE: Stop(BASE, here),
        1: Stop(1, there),
        2: Stop(2, None, Decimal(20)),  # ten miles each way
        3: Stop(3),
    }
    pace = Pace(Decimal(1), 30, 45)
    minutes = number_travel(stops, pace, {(1, BASE): 17, (3, 2): 8})
    assert minutes[BASE, 1] == minutes[1, BASE] == 20
    assert minutes[2, 3] == minutes[3, 2] == 10
    assert minutes[BASE, 2] == minutes[2, BASE] == 20
    assert minutes[BASE, 3] == minutes[1, 3] == minutes[1, 2] == 45
    assert number_travel(stops, pace, {})[BASE, 1] == number_minutes(number_metres(here, there), pace)


def test_coordinates_that_cannot_be_are_told_of() -> None:
    assert set(check_point(Decimal(91), Decimal(-181))) == {"latitude", "longitude"}
    assert set(check_point(None, Decimal(3))) == {"latitude"}
    assert check_point(Decimal("54.3"), Decimal("-2.7")) == {}
