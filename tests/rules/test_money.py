"""Money: what holds of every invoice, splitting, pence, and amounts that are refused."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.money import (
    OUTSIDE_SCOPE,
    Adjustment,
    Line,
    Vat,
    VatCategory,
    convert_from_pence,
    convert_to_pence,
    total_half_up,
    total_invoice,
    total_line,
    total_shares,
)

RATES = st.sampled_from([Vat(VatCategory.STANDARD, Decimal(rate)) for rate in ("20", "5", "17.5")]) | st.just(
    Vat(VatCategory.ZERO, Decimal(0))
)
AMOUNTS = st.decimals(0, 100_000, places=2)
LINES = st.builds(
    Line,
    quantity=st.decimals(-1000, 10_000, places=3),
    price=st.decimals(0, 10_000, places=4),
    vat=RATES,
    base_quantity=st.sampled_from([Decimal(1), Decimal(3), Decimal(12), Decimal(365)]),
    adjustments=st.lists(st.builds(Adjustment, charge=st.booleans(), amount=AMOUNTS), max_size=2).map(tuple),
)
DOCUMENT_ADJUSTMENTS = st.lists(st.builds(Adjustment, charge=st.booleans(), amount=AMOUNTS, vat=RATES), max_size=3)


@given(st.lists(LINES, min_size=1, max_size=12), DOCUMENT_ADJUSTMENTS, AMOUNTS, st.decimals(-1, 1, places=2))
def test_the_rules_of_the_standard_hold_of_any_invoice(
    lines: list[Line], adjustments: list[Adjustment], paid: Decimal, rounding: Decimal
) -> None:
    # EN 16931-1, BR-CO-10 to BR-CO-17, recomputed here with Decimal's own rounding.
    penny = Decimal("0.01")
    totals = total_invoice(lines, adjustments, paid, rounding)
    assert totals.lines == sum(totals.line_nets)
    assert totals.net == totals.lines - totals.allowances + totals.charges
    assert totals.vat == sum(group.tax for group in totals.groups)
    assert totals.gross == totals.net + totals.vat
    assert totals.due == totals.gross - paid + rounding
    assert totals.net == sum(group.taxable for group in totals.groups)
    for group in totals.groups:
        assert group.rate is not None
        assert group.tax == (group.taxable * group.rate / 100).quantize(penny, ROUND_HALF_UP)
    assert len({(group.category, group.rate) for group in totals.groups}) == len(totals.groups)


@given(st.decimals(-(10**9), 10**9, places=6))
def test_rounding_is_half_up_and_mirrors(amount: Decimal) -> None:
    assert total_half_up(amount) == amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert total_half_up(-amount) == -total_half_up(amount)


def test_a_price_for_many_rounds_once() -> None:
    # 1585 for 365 units, 90 units: 390.8219..., an official example (EN 16931 test file with electricity).
    line = Line(Decimal(90), Decimal(1585), Vat(VatCategory.STANDARD, Decimal(25)), Decimal(365))
    assert total_line(line) == Decimal("390.82")


@given(st.decimals(-(10**6), 10**6, places=2), st.lists(st.integers(0, 1000), min_size=1, max_size=9).filter(any))
def test_shares_add_up_to_the_penny(amount: Decimal, weights: list[int]) -> None:
    shares = total_shares(amount, weights)
    assert sum(shares) == amount
    assert all(share == 0 for share, weight in zip(shares, weights, strict=True) if weight == 0)


def test_a_hundred_in_three() -> None:
    assert total_shares(Decimal(100), [1, 1, 1]) == (Decimal("33.34"), Decimal("33.33"), Decimal("33.33"))


@given(st.integers(-(10**12), 10**12))
def test_pence_and_back(pence: int) -> None:
    assert convert_to_pence(convert_from_pence(pence)) == pence


def test_parts_of_a_penny_are_refused() -> None:
    with pytest.raises(ValueError, match="whole number of pence"):
        convert_to_pence(Decimal("1.005"))


@pytest.mark.parametrize(
    ("category", "rate"),
    [
        ("S", None),
        ("S", "0"),
        ("S", "101"),
        ("S", "-5"),
        ("S", "NaN"),
        ("Z", "5"),
        ("E", "20"),
        ("O", "0"),
        ("AE", "20"),
    ],
)
def test_a_rate_that_its_category_forbids(category: str, rate: str | None) -> None:
    # EN 16931 BR-S-05, BR-Z-05, BR-E-05, BR-AE-05, BR-O-05.
    with pytest.raises(ValueError):
        Vat(VatCategory(category), None if rate is None else Decimal(rate))


def test_equal_rates_are_one_group() -> None:
    lines = [Line(Decimal(1), Decimal("0.03"), Vat(VatCategory.STANDARD, Decimal(rate))) for rate in ("20", "20.0")]
    (group,) = total_invoice(lines).groups
    assert (group.taxable, group.tax) == (Decimal("0.06"), Decimal("0.01"))


def test_what_cannot_be_worked_out_is_refused() -> None:
    with pytest.raises(ValueError, match="base quantity"):
        total_line(Line(Decimal(1), Decimal(1), OUTSIDE_SCOPE, Decimal(0)))
    with pytest.raises(ValueError, match="needs a VAT category"):
        total_invoice([], [Adjustment(True, Decimal(1))])
    with pytest.raises(ValueError, match="too large"):
        total_half_up(Decimal(10) ** 18)
    with pytest.raises(ValueError, match="Weights"):
        total_shares(Decimal(1), [0, 0])
