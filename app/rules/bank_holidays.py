"""The bank holidays of the parts of the United Kingdom, with the days that stand in for those on a weekend.

They come from the package `holidays`; days that are proclaimed later are in it only after it was renewed, so a firm can
add days of its own.
"""

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

import holidays


class Region(StrEnum):
    """A part of the United Kingdom with bank holidays of its own."""

    ENGLAND_AND_WALES = "england-and-wales"
    SCOTLAND = "scotland"
    NORTHERN_IRELAND = "northern-ireland"

    @property
    def word(self) -> str:
        return {"england-and-wales": "England and Wales", "scotland": "Scotland"}.get(self.value, "Northern Ireland")


_CODES = {Region.ENGLAND_AND_WALES: "ENG", Region.SCOTLAND: "SCT", Region.NORTHERN_IRELAND: "NIR"}


def list_bank_holidays(region: Region, years: Iterable[int]) -> dict[date, str]:
    """List the bank holidays of some years on working days, with their names, in order.

    The Banking and Financial Dealings Act 1971 and royal proclamations make them; one that falls on a weekend is kept
    on the working day that stands in for it.
    """
    found = holidays.country_holidays("GB", subdiv=_CODES[region], years=sorted(set(years)))
    return {day: name for day, name in sorted(found.items()) if day.weekday() < 5}
