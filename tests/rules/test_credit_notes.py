"""Credit notes: never more than the invoice, by line, by VAT rate and as a whole; 14 days; their numbers.

The rule that credits never exceed the invoice is the point of VATREC13040 (a genuine correction that gives value); how
pennies fall on later notes is our own choice, derived from EN 16931's BR-CO-17.
"""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.rules.credit_notes import (
    CreditablePart,
    CreditLine,
    CreditWish,
    list_credit_lines,
    list_creditable_parts,
    may_credit,
    number_credit_note,
    total_credit,
    total_left,
)
from app.rules.invoices import InvoiceLine
from app.rules.money import ZERO, Adjustment, Vat, VatCategory, total_half_up, total_invoice, total_vat
from app.rules.verdicts import Mistakes

STANDARD, REDUCED = Vat(VatCategory.STANDARD, Decimal(20)), Vat(VatCategory.STANDARD, Decimal(5))
VATS = st.sampled_from([STANDARD, REDUCED, Vat(VatCategory.ZERO, Decimal(0))])
LINES = st.builds(
    InvoiceLine,
    text=st.just("Testing"),
    quantity=st.decimals(-20, 400, places=1).filter(bool),
    price=st.decimals(0, 300, places=3),
    vat=VATS,
    unit=st.sampled_from(["", "items"]),
)
ADJUSTMENTS = st.lists(
    st.builds(Adjustment, charge=st.booleans(), amount=st.decimals(0, 20, places=2), vat=VATS), max_size=2
)


def line(quantity: str, price: str, vat: Vat = STANDARD) -> InvoiceLine:
    return InvoiceLine("Testing", Decimal(quantity), Decimal(price), vat, "items")


def taken(lines: tuple[CreditLine, ...]) -> list[tuple[int, Decimal, Decimal]]:
    return [(each.place, each.counted, each.net) for each in lines]


@given(st.lists(LINES, min_size=1, max_size=6), ADJUSTMENTS, st.data())
def test_credits_together_never_exceed_the_invoice(
    lines: list[InvoiceLine], adjustments: list[Adjustment], data: st.DataObject
) -> None:
    whole = total_invoice([each.priced for each in lines], adjustments)
    assume(whole.gross > 0)
    earlier: list[tuple[int, Decimal, Decimal]] = []
    credited_net = credited_vat = ZERO
    for _ in range(data.draw(st.integers(1, 6))):
        parts = list_creditable_parts(lines, adjustments, earlier)
        wishes = []
        for part in parts:
            if part.left and data.draw(st.booleans()):
                share = Decimal(data.draw(st.integers(1, 100))) / 100
                amount = total_half_up(abs(part.left) * share)
                quantity = (abs(part.quantity_left) * share).quantize(Decimal("0.1"))
                wishes.append(
                    data.draw(
                        st.sampled_from(
                            [CreditWish(part.place), CreditWish(part.place, amount=amount)]
                            + ([CreditWish(part.place, quantity=quantity)] if quantity else [])
                        )
                    )
                )
        try:
            chosen = list_credit_lines(parts, wishes)
        except Mistakes:
            continue
        if may_credit(parts, chosen):
            continue
        totals = total_credit(parts, chosen)
        assert totals.gross == totals.net + totals.vat > 0
        for group in totals.groups:  # never more than a penny from the VAT on the note alone
            assert abs(group.tax - total_vat(group.taxable, group.rate)) <= Decimal("0.01")
        for each in chosen:
            exact = total_half_up(each.quantity * each.price / each.base_quantity)
            assert each.net == exact, "a line of the note is its quantity times its price"
        credited_net, credited_vat = credited_net + totals.net, credited_vat + totals.vat
        earlier += taken(chosen)
        after = list_creditable_parts(lines, adjustments, earlier)
        assert credited_net + credited_vat <= whole.gross
        assert total_left(after) == whole.gross - credited_net - credited_vat
        for part in after:
            assert min(part.net, ZERO) <= part.credited <= max(part.net, ZERO)
        for group in whole.groups:
            vat = Vat(group.category, group.rate)
            net = sum((part.credited for part in after if part.vat == vat), ZERO)
            assert min(group.taxable, ZERO) <= net <= max(group.taxable, ZERO)
            assert abs(total_vat(net, group.rate)) <= abs(group.tax)


@given(st.lists(LINES, min_size=1, max_size=6), ADJUSTMENTS, st.randoms(use_true_random=False))
def test_an_invoice_credited_line_by_line_comes_to_nothing(
    lines: list[InvoiceLine], adjustments: list[Adjustment], chance: object
) -> None:
    whole = total_invoice([each.priced for each in lines], adjustments)
    earlier: list[tuple[int, Decimal, Decimal]] = []
    gross = ZERO
    for part in list_creditable_parts(lines, adjustments):
        if part.net:
            now = list_creditable_parts(lines, adjustments, earlier)
            chosen = list_credit_lines(now, [CreditWish(part.place)])
            gross += total_credit(now, chosen).gross
            earlier += taken(chosen)
    assert gross == whole.gross
    assert total_left(list_creditable_parts(lines, adjustments, earlier)) == 0


def test_the_vat_of_many_small_credits_stays_within_that_of_the_invoice() -> None:
    # 0.03 at 20 % is 0.006: 0.01 on each of two notes would be 0.02, but the invoice for 0.06 charged 0.01 (0.012).
    lines = [line("2", "0.03")]
    first = list_credit_lines(list_creditable_parts(lines), [CreditWish(0, quantity=Decimal(1))])
    assert total_credit(list_creditable_parts(lines), first).vat == Decimal("0.01")
    now = list_creditable_parts(lines, earlier=taken(first))
    second = list_credit_lines(now, [CreditWish(0)])
    assert total_credit(now, second).vat == Decimal("0.00")


def test_a_quantity_an_amount_and_the_rest() -> None:
    lines = [line("40", "1.35"), line("1", "25.00")]
    parts = list_creditable_parts(lines)
    some, part = list_credit_lines(parts, [CreditWish(0, quantity=Decimal(3)), CreditWish(1, amount=Decimal("5.00"))])
    assert (some.quantity, some.price, some.net, some.counted) == (
        Decimal(3),
        Decimal("1.35"),
        Decimal("4.05"),
        Decimal(3),
    )
    assert (part.quantity, part.price, part.net, part.counted) == (
        Decimal(1),
        Decimal("5.00"),
        Decimal("5.00"),
        Decimal(0),
    )
    now = list_creditable_parts(lines, earlier=taken((some, part)))
    assert [(each.quantity_left, each.left) for each in now] == [
        (Decimal(37), Decimal("49.95")),
        (Decimal(1), Decimal("20.00")),
    ]
    rest = list_credit_lines(now, [CreditWish(0), CreditWish(1)])
    assert total_credit(now, rest).gross == Decimal("83.94")  # 69.95 and VAT 13.99 (79.00 x 0.2 = 15.80, less 1.81)


@pytest.mark.parametrize(
    ("wish", "field"),
    [
        (CreditWish(0, quantity=Decimal("40.5")), "quantity_0"),
        (CreditWish(0, quantity=Decimal(0)), "quantity_0"),
        (CreditWish(0, amount=Decimal("54.01")), "amount_0"),
        (CreditWish(0, amount=Decimal(0)), "amount_0"),
    ],
)
def test_more_than_is_left_is_refused_beside_its_field(wish: CreditWish, field: str) -> None:
    with pytest.raises(Mistakes) as wrong:
        list_credit_lines(list_creditable_parts([line("40", "1.35")]), [wish])
    assert set(wrong.value.messages) == {field}


def test_nothing_is_left_of_a_line_that_is_credited() -> None:
    parts = [CreditablePart(0, "Testing", Decimal(2), Decimal(3), STANDARD, Decimal(6), credited=Decimal(6))]
    with pytest.raises(Mistakes, match="Nothing is left"):
        list_credit_lines(parts, [CreditWish(0)])


def test_goodwill_on_the_invoice_is_not_given_twice() -> None:
    # 60.00 less 10.00 goodwill: crediting the 60.00 alone would give back more than was charged.
    parts = list_creditable_parts([line("1", "60"), line("-1", "10")])
    alone = list_credit_lines(parts, [CreditWish(0)])
    assert "more at 20 % than the invoice charges" in may_credit(parts, alone)[0]
    both = list_credit_lines(parts, [CreditWish(0), CreditWish(1)])
    assert may_credit(parts, both) == ()
    assert total_credit(parts, both).gross == Decimal("60.00")
    backwards = list_credit_lines(parts, [CreditWish(1)])
    assert "credits nothing" in may_credit(parts, backwards)[0]
    assert may_credit(parts, ()) == ("Choose what to credit: a line, some of it, or all that is left.",)


def test_a_series_is_numbered_like_every_other() -> None:
    assert (number_credit_note(1), number_credit_note(123, "GS")) == ("CN-000001", "GS-000123")
    with pytest.raises(ValueError, match="starts at 1"):
        number_credit_note(0)
