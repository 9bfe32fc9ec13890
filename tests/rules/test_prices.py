"""What so many items cost: by kind, by equipment type, from a number of items on; what comes once; kept and read back.

The figures are worked out by hand; how agreements are made up is common practice, no source.
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from app.rules.discounts import Discount
from app.rules.equipment import Kind
from app.rules.money import OUTSIDE_SCOPE, Vat, VatCategory, total_line
from app.rules.price_details import MorePrices, NamedExtra, PriceDetails, Step, check_prices, convert_prices
from app.rules.priced_lines import Basis, InvoiceLine, list_discounted, list_visit_lines
from app.rules.prices import (
    Extra,
    PriceAgreement,
    Rate,
    TravelUnit,
    UsedExtra,
    VisitItem,
    convert_agreement,
    list_bands,
    parse_agreement,
    total_distance,
)

VAT = Vat(VatCategory.STANDARD, Decimal(20))
APPLIANCES = [VisitItem(f"{number:04d}", Kind.APPLIANCE) for number in range(1, 151)]
TIERS = PriceAgreement(
    Decimal("1.45"),
    rates=(Rate(Decimal("1.20"), 51), Rate(Decimal("1.00"), 101), Rate(Decimal("0.55"), type_name="PC lead")),
)


def told(lines: tuple[InvoiceLine, ...]) -> list[tuple[str, Decimal, Decimal]]:
    return [(line.text, line.quantity, line.price) for line in lines]


def test_later_items_cost_less_and_earlier_ones_keep_their_price() -> None:
    lines = list_visit_lines(TIERS, APPLIANCES, VAT)
    assert told(lines) == [
        ("Inspection and test", Decimal(50), Decimal("1.45")),
        ("Inspection and test, from item 51", Decimal(50), Decimal("1.20")),
        ("Inspection and test, from item 101", Decimal(50), Decimal("1.00")),
    ]
    assert [line.item_numbers[0] for line in lines] == ["0001", "0051", "0101"]
    assert sum(total_line(line.priced) for line in lines) == Decimal("182.50")


@pytest.mark.parametrize(("count", "bands"), [(1, [1]), (50, [50]), (51, [50, 1]), (100, [50, 50]), (101, [50, 50, 1])])
def test_a_tier_begins_with_its_item(count: int, bands: list[int]) -> None:
    assert [band.count for band in list_bands(TIERS, APPLIANCES[:count])] == bands


def test_an_equipment_type_goes_before_its_kind() -> None:
    items = [
        *APPLIANCES[:2],
        VisitItem("L1", Kind.DETACHABLE_CORD, type_name="PC lead"),
        VisitItem("L2", Kind.DETACHABLE_CORD),
    ]
    agreement = replace(TIERS, price_by_kind={Kind.DETACHABLE_CORD: Decimal("0.60")})
    assert told(list_visit_lines(agreement, items, VAT)) == [
        ("Inspection and test", Decimal(2), Decimal("1.45")),
        ("Inspection and test: detachable cord", Decimal(1), Decimal("0.60")),
        ("Inspection and test: PC lead", Decimal(1), Decimal("0.55")),
    ]


def test_a_tier_of_a_kind_counts_that_kind_alone() -> None:
    agreement = PriceAgreement(Decimal(2), rates=(Rate(Decimal(1), 3, Kind.CHARGER),))
    items = [*APPLIANCES[:4], *(VisitItem(f"C{number}", Kind.CHARGER) for number in range(4))]
    assert [(band.kind, band.count, band.price) for band in list_bands(agreement, items)] == [
        (None, 4, Decimal(2)),
        (Kind.CHARGER, 2, Decimal(2)),
        (Kind.CHARGER, 2, Decimal(1)),
    ]


def test_what_comes_once_the_minimum_travel_and_extras() -> None:
    agreement = PriceAgreement(
        Decimal("1.45"),
        minimum_charge=Decimal(60),
        call_out=Decimal(25),
        visit_price=Decimal(10),
        travel=Decimal(5),
        travel_rate=Decimal("0.45"),
        extras=(Extra("Fuse", Decimal("1.50")), Extra("Repair", Decimal(38), "hour")),
    )
    used = [
        UsedExtra("fuse", Decimal(3), ("0001",)),
        UsedExtra("Repair", Decimal("0.5")),
        UsedExtra("Glue", Decimal(1)),
    ]
    lines = list_visit_lines(agreement, APPLIANCES[:10], VAT, miles=Decimal("22.5"), extras=used)
    assert [(line.basis, line.quantity, line.price, line.unit) for line in lines] == [
        (Basis.ITEMS, Decimal(10), Decimal("1.45"), "items"),
        (Basis.VISIT, Decimal(1), Decimal(10), "visit"),
        (Basis.CALL_OUT, Decimal(1), Decimal(25), "visit"),
        (Basis.MINIMUM, Decimal(1), Decimal("10.50"), "visit"),  # 14.50 + 10 + 25 = 49.50, so 10.50 up to 60
        (Basis.TRAVEL, Decimal(1), Decimal(5), "visit"),
        (Basis.TRAVEL, Decimal("22.5"), Decimal("0.45"), "miles"),
        (Basis.EXTRA, Decimal(3), Decimal("1.50"), ""),
        (Basis.EXTRA, Decimal("0.5"), Decimal(38), "hour"),
        (Basis.EXTRA, Decimal(1), Decimal(0), ""),  # no price is agreed: somebody must give one
    ]
    assert lines[6].item_numbers == ("0001",)


def test_a_mile_is_a_mile() -> None:
    # 1 mile is 1.609344 km exactly (international yard and pound agreement, 1959).
    assert total_distance(Decimal(20), TravelUnit.KILOMETRE) == Decimal("32.2")
    assert total_distance(Decimal("20.5"), TravelUnit.MILE) == Decimal("20.5")


def test_an_agreement_is_kept_and_read_back_as_it_was() -> None:
    agreement = replace(
        TIERS,
        price_by_kind={Kind.CHARGER: Decimal("0.90")},
        minimum_charge=Decimal(60),
        travel_rate=Decimal("0.28"),
        travel_unit=TravelUnit.KILOMETRE,
        extras=(Extra("Plug", Decimal(4), "piece"),),
        discount=Discount(percent=Decimal("2.5"), reason="Charity"),
    )
    assert parse_agreement(convert_agreement(agreement)) == agreement
    assert parse_agreement(convert_agreement(PriceAgreement(Decimal(1)))) == PriceAgreement(Decimal(1))


def test_a_discount_for_some_lines_only() -> None:
    lines = list_visit_lines(TIERS, APPLIANCES[:10], OUTSIDE_SCOPE)
    (ten,) = list_discounted(lines, Discount(percent=Decimal(10)))
    assert total_line(ten.priced) == Decimal("13.05")
    *_, off = list_discounted(lines, Discount(amount=Decimal(3), reason="Thanks"))
    assert (off.text, total_line(off.priced)) == ("Thanks", Decimal("-3.00"))


GOOD = PriceDetails(date(2026, 3, 1), 145)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        (MorePrices(valid_until=date(2026, 2, 28)), "valid_until"),
        (MorePrices(discount="lots"), "discount"),
        (MorePrices(travel_pence=-1), "travel"),
        (MorePrices(steps=(Step(100, 1),)), "step_from_0"),
        (MorePrices(steps=(Step(100, 0),)), "step_from_0"),
        (MorePrices(steps=(Step(100, 5), Step(90, 5))), "step_from_1"),
        (MorePrices(steps=(Step(10_000_001, 5),)), "step_price_0"),
        (MorePrices(extras=(NamedExtra("Fuse", 100), NamedExtra("fuse", 90))), "extra_name_1"),
        (MorePrices(extras=(NamedExtra(" ", 100),)), "extra_name_0"),
    ],
)
def test_what_is_wrong_is_named_by_its_field(more: MorePrices, field: str) -> None:
    assert set(check_prices(replace(GOOD, more=more))) == {field}


def test_prices_as_typed_become_an_agreement() -> None:
    more = MorePrices(steps=(Step(120, 51), Step(55, 1, None, 7)), extras=(NamedExtra("Fuse", 150),), discount="10%")
    assert check_prices(replace(GOOD, more=more)) == {}
    agreement = convert_prices(replace(GOOD, minimum_pence=6000, more=more), {7: "PC lead"})
    assert agreement.rates == (Rate(Decimal("1.20"), 51), Rate(Decimal("0.55"), 1, None, "PC lead"))
    assert (agreement.minimum_charge, agreement.call_out) == (Decimal("60.00"), None)
    assert agreement.discount == Discount(percent=Decimal(10))
