"""Random invoices with discounts agree with EN 16931 to 0.00; `./run bench invoices` does it for 100,000 of them."""

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.random_invoices import differences, random_invoice


@settings(max_examples=500, deadline=None)
@given(st.integers(0, 2**32))
def test_a_random_invoice_adds_up_to_the_penny(seed: int) -> None:
    assert differences(*random_invoice(Random(seed))) == []
