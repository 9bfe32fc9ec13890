"""Bank holidays against a second package that shares nothing with the first, and against the government's own list."""

from datetime import date

import pytest
from workalendar.europe import UnitedKingdom, UnitedKingdomNorthernIreland

from app.rules.bank_holidays import Region, list_bank_holidays

JUDGES = {Region.ENGLAND_AND_WALES: UnitedKingdom(), Region.NORTHERN_IRELAND: UnitedKingdomNorthernIreland()}


@pytest.mark.parametrize("region", JUDGES)
def test_they_are_those_of_a_second_package(region: Region) -> None:
    for year in range(2024, 2034):
        judged = {day for day, _ in JUDGES[region].holidays(year) if day.weekday() < 5}
        assert set(list_bank_holidays(region, [year])) == judged, year


def test_scotland_has_its_own() -> None:
    # GOV.UK, UK bank holidays, Scotland, 2025 and 2026 (from memory; the second package calls its Scottish one
    # experimental and lacks most of them).
    days = {
        2025: "1-1 1-2 4-18 5-5 5-26 8-4 12-1 12-25 12-26",
        2026: "1-1 1-2 4-3 5-4 5-25 6-15 8-3 11-30 12-25 12-28",
    }
    for year, listed in days.items():
        told = {date(year, *(int(part) for part in day.split("-"))) for day in listed.split()}
        assert set(list_bank_holidays(Region.SCOTLAND, [year])) == told


def test_a_day_that_stands_in_counts_and_the_weekend_does_not() -> None:
    # Christmas 2027 is a Saturday: GOV.UK gives 27 and 28 December as substitute days (from memory).
    found = list_bank_holidays(Region.ENGLAND_AND_WALES, [2027])
    assert [day for day in found if day.month == 12] == [date(2027, 12, 27), date(2027, 12, 28)]
    assert list(found) == sorted(found)
