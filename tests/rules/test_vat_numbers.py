"""Check digits of United Kingdom VAT numbers, judged by python-stdnum, and how numbers are printed."""

import pytest
import stdnum.gb.vat
from hypothesis import example, given
from hypothesis import strategies as st

from app.rules.vat_numbers import check_vat_number, number_vat_printed

DIGITS = st.text("0123456789", min_size=7, max_size=7)


@given(DIGITS, st.sampled_from(["", "GB", "XI", "GB "]), st.sampled_from(["", "001"]))
@example("9999999", "GB", "")
@example("0000000", "", "")
@example("1000000", "", "")
def test_every_pair_of_check_digits_is_judged_as_the_library_does(first: str, country: str, branch: str) -> None:
    fitting = 0
    for pair in range(100):
        number = f"{country}{first}{pair:02d}{branch}"
        ours = check_vat_number(number)
        assert ours == stdnum.gb.vat.is_valid(number), number
        fitting += ours
    assert 1 <= fitting <= 7  # so neither judge says the same of everything


@pytest.mark.parametrize(
    ("number", "fits"),
    [
        ("GB 999 9999 73", True),
        ("GB 999 9999 74", False),
        ("980 7806 84", True),  # the example in the library's documentation
        ("802311781", False),  # likewise
        ("GD001", True),
        ("GD500", False),
        ("HA500", True),
        ("HA499", False),
        ("", False),
        ("12345", False),
    ],
)
def test_numbers_of_every_form(number: str, fits: bool) -> None:
    assert check_vat_number(number) == fits == stdnum.gb.vat.is_valid(number)


@given(st.text(max_size=16))
def test_whatever_is_typed_is_answered(text: str) -> None:
    if check_vat_number(text):
        assert number_vat_printed(text)
