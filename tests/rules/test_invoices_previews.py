"""The arithmetic for machines: what it answers and every problem it names."""

from decimal import Decimal
from typing import Any

import pytest

from app.rules.case_parsing import CaseProblems
from app.rules.invoice_previews import total_invoice_case, total_invoice_cases

LINE: dict[str, Any] = {"quantity": "2", "price": "10", "vat": {"category": "S", "rate": "20"}}
CASE: dict[str, Any] = {"id": "a", "type": "invoice", "currency": "GBP", "lines": [LINE]}


def problems_of(data: object) -> dict[str, str]:
    with pytest.raises(CaseProblems) as caught:
        total_invoice_cases(data)
    return {problem["path"]: problem["message"] for problem in caught.value.problems}


def test_a_whole_answer() -> None:
    # A line of 10 for 5, so 4.00 less 3.00, a charge of 150 at the same rate: worked by hand.
    line = {
        "quantity": "2", "price": "10", "base_quantity": "5", "vat": {"category": "S", "rate": "20"},
        "adjustments": [{"charge": False, "amount": "3.00"}],
    }  # fmt: skip
    charge = {"charge": True, "amount": "150", "vat": {"category": "S", "rate": "20.00"}}
    answer = total_invoice_case(CASE | {"lines": [line], "adjustments": [charge], "paid": "100", "rounding": "-0.20"})
    assert answer == {
        "id": "a", "BT-106": "1.00", "BT-107": "0.00", "BT-108": "150.00", "BT-109": "151.00", "BT-110": "30.20",
        "BT-112": "181.20", "BT-113": "100.00", "BT-114": "-0.20", "BT-115": "81.00",
        "vat": [{"category": "S", "rate": "20.00", "taxable": "151.00", "tax": "30.20"}],
    }  # fmt: skip


def test_a_list_keeps_its_order() -> None:
    answers = total_invoice_cases([CASE | {"id": number} for number in (3, 1, 2)])
    assert [answer["id"] for answer in answers] == [3, 1, 2]


def test_json_numbers_are_taken_as_written() -> None:
    line = LINE | {"quantity": 3, "price": 0.1, "vat": {"category": "S", "rate": 20}}
    assert total_invoice_case({"lines": [line]})["BT-112"] == "0.36"


def test_outside_the_scope_has_no_rate() -> None:
    answer = total_invoice_case({"lines": [LINE | {"vat": {"category": "O"}}]})
    assert answer["vat"] == [{"category": "O", "rate": None, "taxable": "20.00", "tax": "0.00"}]


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"lines": []}, "/lines"),
        ({"lines": None}, "/lines"),
        ({"lines": {}}, "/lines"),
        ({"lines": [7]}, "/lines/0"),
        ({"lines": [LINE | {"quantity": "two"}]}, "/lines/0/quantity"),
        ({"lines": [LINE | {"quantity": None}]}, "/lines/0/quantity"),
        ({"lines": [LINE | {"quantity": True}]}, "/lines/0/quantity"),
        ({"lines": [LINE | {"price": "-1"}]}, "/lines/0/price"),
        ({"lines": [LINE | {"price": float("nan")}]}, "/lines/0/price"),
        ({"lines": [LINE | {"price": "1e5"}]}, "/lines/0/price"),
        ({"lines": [LINE | {"base_quantity": "0"}]}, "/lines/0/base_quantity"),
        ({"lines": [LINE | {"vat": None}]}, "/lines/0/vat"),
        ({"lines": [LINE | {"vat": {"category": "X", "rate": "20"}}]}, "/lines/0/vat/category"),
        ({"lines": [LINE | {"vat": {"category": "S"}}]}, "/lines/0/vat/rate"),
        ({"lines": [LINE | {"vat": {"category": "S", "rate": "0"}}]}, "/lines/0/vat/rate"),
        ({"lines": [LINE | {"vat": {"category": "Z", "rate": "20"}}]}, "/lines/0/vat/rate"),
        ({"lines": [LINE | {"vat": {"category": "O", "rate": "20"}}]}, "/lines/0/vat/rate"),
        ({"lines": [LINE | {"vat": {"category": "S", "rate": "101"}}]}, "/lines/0/vat/rate"),
        ({"lines": [LINE | {"adjustments": [{"amount": "1"}]}]}, "/lines/0/adjustments/0/charge"),
        ({"lines": [LINE | {"adjustments": [{"charge": True}]}]}, "/lines/0/adjustments/0/amount"),
        ({"lines": [LINE | {"adjustments": [{"charge": True, "amount": "1.001"}]}]}, "/lines/0/adjustments/0/amount"),
        ({"lines": [LINE | {"colour": "red"}]}, "/lines/0/colour"),
        ({"lines": [LINE, LINE | {"vat": {"category": "O"}}]}, "/lines"),
        ({"lines": [LINE | {"quantity": "9" * 15, "price": "9" * 15}]}, "/lines"),
        ({"adjustments": [{"charge": True, "amount": "1"}]}, "/adjustments/0/vat"),
        ({"paid": "1.005"}, "/paid"),
        ({"type": "quote"}, "/type"),
        ({"currency": "pounds"}, "/currency"),
        ({"id": True}, "/id"),
        ({"note": "x"}, "/note"),
    ],
)
def test_a_problem_is_named_with_its_path(change: dict[str, Any], path: str) -> None:
    assert path in problems_of(CASE | change)


def test_all_problems_of_a_list_come_at_once() -> None:
    bad = CASE | {"lines": [LINE | {"price": "x", "quantity": "y"}]}
    assert set(problems_of([CASE, bad, "nonsense"])) == {"/1/lines/0/price", "/1/lines/0/quantity", "/2"}


def test_a_credit_note_has_positive_amounts() -> None:
    # EN 16931: a credit note (381) mirrors its invoice with positive amounts.
    assert total_invoice_case(CASE | {"type": "credit-note"})["BT-112"] == str(Decimal("24.00"))
