"""VAT rates by tax point (published by HMRC), the tax point of a visit, and how a VAT number is written."""

from datetime import date
from decimal import Decimal

import pytest

from app.rules.money import OUTSIDE_SCOPE, VatCategory
from app.rules.vat_numbers import number_vat_printed
from app.rules.vat_rates import VatTreatment, next_tax_point, number_vat_rate


@pytest.mark.parametrize(
    ("day", "rate"),
    [
        ("2008-11-30", "17.5"),
        ("2008-12-01", "15"),
        ("2009-12-31", "15"),
        ("2010-01-01", "17.5"),
        ("2011-01-03", "17.5"),
        ("2011-01-04", "20"),
        ("2026-03-04", "20"),
    ],
)
def test_the_standard_rate_of_a_day(day: str, rate: str) -> None:
    vat = number_vat_rate(VatTreatment.STANDARD, date.fromisoformat(day))
    assert (vat.category, vat.rate) == (VatCategory.STANDARD, Decimal(rate))


def test_other_treatments() -> None:
    day = date(2026, 3, 4)
    assert number_vat_rate(VatTreatment.REDUCED, day).rate == 5
    assert number_vat_rate(VatTreatment.ZERO, day).category == VatCategory.ZERO
    assert number_vat_rate(VatTreatment.EXEMPT, day).category == VatCategory.EXEMPT
    assert number_vat_rate(VatTreatment.REVERSE_CHARGE, day).rate == 0
    assert number_vat_rate(VatTreatment.OUTSIDE, day) == OUTSIDE_SCOPE


def test_a_day_before_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match="standard rate"):
        number_vat_rate(VatTreatment.STANDARD, date(1980, 1, 1))


@pytest.mark.parametrize(
    ("supplied", "issued", "point"),
    [
        ("2026-03-04", "2026-03-05", "2026-03-05"),
        ("2026-03-04", "2026-03-18", "2026-03-18"),
        ("2026-03-04", "2026-03-19", "2026-03-04"),
        ("2026-03-04", "2026-03-01", "2026-03-01"),
    ],
)
def test_the_tax_point_follows_an_invoice_within_fourteen_days(supplied: str, issued: str, point: str) -> None:
    # VAT Act 1994, section 6, from memory.
    assert next_tax_point(date.fromisoformat(supplied), date.fromisoformat(issued)) == date.fromisoformat(point)


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("999 9999 73", "GB 999 9999 73"),
        ("gb999999973", "GB 999 9999 73"),
        ("999999973001", "GB 999 9999 73 001"),
        ("XI 999 9999 73", "XI 999 9999 73"),
        ("GD123", "GB GD123"),
        ("12345", ""),
        ("", ""),
    ],
)
def test_a_vat_number_is_printed_in_groups(typed: str, printed: str) -> None:
    assert number_vat_printed(typed) == printed
