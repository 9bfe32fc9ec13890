"""Bank holidays against the government's own list, as a package of its own carries it."""

from datetime import date

import pytest
from govuk_bank_holidays.bank_holidays import BankHolidays

from app.rules.bank_holidays import Region, list_bank_holidays

DIVISIONS = {
    Region.ENGLAND_AND_WALES: BankHolidays.ENGLAND_AND_WALES,
    Region.SCOTLAND: BankHolidays.SCOTLAND,
    Region.NORTHERN_IRELAND: BankHolidays.NORTHERN_IRELAND,
}
#: Proclaimed after the package was made (from memory): the Monday after Scotland's first match of the World Cup.
LATER = {(Region.SCOTLAND, date(2026, 6, 15))}


@pytest.mark.parametrize("region", DIVISIONS)
def test_they_are_those_of_the_governments_list(region: Region) -> None:
    """GOV.UK, "UK bank holidays", 2012 to 2028, as the package govuk-bank-holidays keeps it."""
    listed = BankHolidays(use_cached_holidays=True).get_holidays(division=DIVISIONS[region])
    years = sorted({day["date"].year for day in listed})
    assert len(years) >= 17
    for year in years:
        theirs = {day["date"] for day in listed if day["date"].year == year}
        ours = {day for day in list_bank_holidays(region, [year]) if (region, day) not in LATER}
        assert ours == theirs, year


def test_a_day_that_stands_in_counts_and_the_weekend_does_not() -> None:
    # Christmas 2027 is a Saturday: GOV.UK gives 27 and 28 December as substitute days (from memory).
    found = list_bank_holidays(Region.ENGLAND_AND_WALES, [2027])
    assert [day for day in found if day.month == 12] == [date(2027, 12, 27), date(2027, 12, 28)]
    assert list(found) == sorted(found)
