"""What a label says, the address in its code, and the sizes of codes."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.items import NUMBER, ItemState, next_number
from app.rules.labels import (
    ScannedLabel,
    Standing,
    describe_label_address,
    judge_standing,
    limit_bars_height_mm,
    limit_module_mm,
    list_run,
    parse_label_address,
)

#: ISO/IEC 18004, 7.4.4: the 45 characters of the alphanumeric mode.
ALPHANUMERIC = set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
SERVERS = (
    "https://office.tarn-alder.example",
    "http://192.168.1.20:8765",
    "https://Office-PC.local:8765",
    "https://web.example/Ohm/stead",
)


@given(number=st.from_regex(NUMBER, fullmatch=True), customer_id=st.integers(1, 10**8), server=st.sampled_from(SERVERS))
def test_what_a_scanner_types_names_the_same_item_again(number: str, customer_id: int, server: str) -> None:
    address = describe_label_address(server, customer_id, number)
    assert address.upper().startswith(server.upper() + "/L/")
    for typed in (address, address.lower(), f"  {address}\n", address.upper()):
        assert parse_label_address(typed) == ScannedLabel(customer_id, number)


@given(number=st.from_regex(NUMBER, fullmatch=True))
def test_an_address_without_a_folder_is_held_tightly(number: str) -> None:
    assert set(describe_label_address(SERVERS[0], 12, number)) <= ALPHANUMERIC


def test_a_folder_of_the_server_keeps_its_small_letters() -> None:
    assert describe_label_address(SERVERS[3], 12, "A/7") == "https://web.example/Ohm/stead/L/12/A:7"


@pytest.mark.parametrize(
    "text",
    ["", "0042", "42", "https://office.example", "https://office.example/items/7", "https://office.example/L/12",
     "https://office.example/L/x/42", "https://office.example/L/12/42/edit", "https://office.example/L/12/",
     "ftp://office.example/L/12/42", "https://office.example/L/12/A B", "L/12/42", "https://office.example/L/1/:42"],
)  # fmt: skip
def test_anything_else_is_no_label(text: str) -> None:
    assert parse_label_address(text) is None


@pytest.mark.parametrize(
    ("state", "verdict", "standing"),
    [
        (ItemState.IN_USE, "pass", Standing.PASS),
        (ItemState.IN_USE, "fail", Standing.DO_NOT_USE),
        (ItemState.IN_USE, None, Standing.NUMBER_ONLY),
        (ItemState.IN_USE, "incomplete", Standing.NUMBER_ONLY),
        (ItemState.IN_USE, "decision", Standing.NUMBER_ONLY),
        (ItemState.OUT_OF_USE, "pass", Standing.DO_NOT_USE),
        (ItemState.OUT_OF_USE, None, Standing.DO_NOT_USE),
    ],
)
def test_only_a_passed_item_that_is_in_use_gets_a_pass(
    state: ItemState, verdict: str | None, standing: Standing
) -> None:
    assert judge_standing(state, verdict) == standing


@pytest.mark.parametrize("dots", [203, 300, 600])
@pytest.mark.parametrize("room", ["5", "9.3", "14", "20", "200"])
def test_modules_are_whole_dots_that_fit(dots: int, room: str) -> None:
    """An inch is 25.4 mm; a module of a part of a dot would print wide here and narrow there."""
    module = limit_module_mm(Decimal(room), 37, dots, Decimal("0.75"))
    if module is None:
        dot = Decimal("25.4") / dots
        least = next(number * dot for number in range(1, 99) if number * dot >= Decimal("0.25"))
        assert least * 37 > Decimal(room)
        return
    counted = module * dots / Decimal("25.4")
    assert abs(counted - round(counted)) < Decimal("1e-9")
    assert Decimal("0.25") <= module <= Decimal("0.75") and module * 37 <= Decimal(room)


def test_bars_are_at_least_as_high_as_scanners_want() -> None:
    """15 % of the length or 6.35 mm, whichever is more (the usual floor for linear codes)."""
    assert limit_bars_height_mm(Decimal(20)) == Decimal("6.35")
    assert limit_bars_height_mm(Decimal(60)) == Decimal(9)


def test_a_run_goes_on_as_numbers_do() -> None:
    assert list_run("0098", 4) == ["0098", "0099", "0100", "0101"]
    assert list_run("A-9", 3) == ["A-9", "A-10", "A-11"]
    assert next_number(list_run("0098", 4)) == "0102"
    with pytest.raises(ValueError, match="digits"):
        list_run("ABC", 2)
