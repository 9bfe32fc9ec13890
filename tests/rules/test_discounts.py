"""Discounts as typed, and as the allowances of EN 16931: of a line (BG-27) and of the document (BG-20)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.discounts import Discount, list_document_allowances, list_line_allowances, parse_discount
from app.rules.money import ZERO, Line, Vat, VatCategory, total_invoice

S20, S5 = (Vat(VatCategory.STANDARD, Decimal(rate)) for rate in ("20", "5"))
NONE = Vat(VatCategory.ZERO, ZERO)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("10%", "10%"), (" 2,5 % ", "2.5%"), ("£5", "5.00"), ("5.5", "5.50"), ("", ""), ("0", ""), ("0%", "")],
)
def test_a_discount_is_read_as_typed(typed: str, kept: str) -> None:
    found = parse_discount(typed)
    assert (found.text if found else "") == kept
    if found:
        assert parse_discount(found.text) == found


@pytest.mark.parametrize("typed", ["-5", "101%", "abc", "£5%", "5.005", "1e3", "ten per cent", "10%%", "1000001"])
def test_what_is_no_discount_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="discount"):
        parse_discount(typed)


def test_a_percentage_of_a_boundary_sum() -> None:
    # 10 % of 202.55 is 20.255, half up 20.26: worked out by hand.
    lines = [Line(Decimal(137), Decimal("1.15"), S20), Line(Decimal(1), Decimal(45), S20)]
    (allowance,) = list_document_allowances(Discount(percent=Decimal(10)), lines)
    assert (allowance.amount, allowance.base, allowance.percent) == (Decimal("20.26"), Decimal("202.55"), Decimal(10))
    assert total_invoice(lines, [allowance]).gross == Decimal("218.75")


def test_a_line_keeps_how_its_discount_was_worked_out() -> None:
    (allowance,) = list_line_allowances(
        Discount(percent=Decimal("2.5"), reason="Goodwill"), Decimal(3), Decimal("1.15")
    )
    assert (allowance.amount, allowance.base, allowance.reason) == (Decimal("0.09"), Decimal("3.45"), "Goodwill, 2.5%")


LINES = st.lists(
    st.builds(
        Line,
        quantity=st.decimals("0.1", 100, places=1),
        price=st.decimals(1, 100, places=2),
        vat=st.sampled_from([S20, S5, NONE]),
    ),
    min_size=1,
    max_size=8,
)


@given(LINES, st.decimals("0.01", 5, places=2))
def test_an_amount_is_shared_to_the_penny(lines: list[Line], amount: Decimal) -> None:
    allowances = list_document_allowances(Discount(amount=amount), lines)
    assert sum(each.amount for each in allowances) == amount
    totals = total_invoice(lines, allowances)
    assert totals.net == totals.lines - amount
    assert {each.vat for each in allowances} <= {line.vat for line in lines}


@given(LINES, st.decimals(1, 100, places=1))
def test_a_percentage_is_taken_off_each_rate(lines: list[Line], percent: Decimal) -> None:
    before = {(group.category, group.rate): group.taxable for group in total_invoice(lines).groups}
    after = total_invoice(lines, list_document_allowances(Discount(percent=percent), lines))
    for group in after.groups:
        exact = before[group.category, group.rate] * (100 - percent) / 100
        assert abs(group.taxable - exact) <= Decimal("0.005")
