"""Advice on fuses, cords, leads and reels, beside the worked cases of test_limit_cases. Fuse rule and cord ratings: UK
training pages and the UK Code of Practice, table VII.1; moulded plugs: BS 1363, table 2, note C; reels: a cable maker.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from app.rules.advice import Severity, list_advice
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Reel, Supply
from app.rules.fuses import check_fuse, number_cord_rating, number_rated_current, suggest_cord_size
from app.rules.leads import may_clear_fault, number_loop_resistance, number_reel_factor
from app.rules.rcds import may_trip_at
from tests.rules.sample_items import CORD, KETTLE, LAMP, LEAD, RCD_LEAD


def codes(item: ItemFacts) -> dict[str, Severity]:
    return {advice.code: advice.severity for advice in list_advice(item)}


@pytest.mark.parametrize(
    ("csa", "length", "moulded", "fuse", "answer"),
    [
        ("0.5", "1", True, "13", "too-large"),
        ("0.5", "1", True, "3", "right"),
        ("0.75", "2", True, "13", "right"),
        ("0.75", "2.1", True, "13", "remark"),
        ("0.75", "1.5", False, "13", "too-large"),
        ("0.75", "1.5", None, "13", "remark"),
        ("0.75", "1.5", False, "5", "right"),
        ("1.0", "3", True, "13", "remark"),
        ("1.0", "3", False, "13", "too-large"),
        ("1.0", "3", False, "10", "right"),
        ("1.25", "10", False, "13", "right"),
        ("1.5", "10", False, "13", "right"),
        ("0.9", "1", False, "13", "remark"),
    ],
)
def test_the_fuse_protects_the_cord(csa: str, length: str, moulded: bool | None, fuse: str, answer: str) -> None:
    cord = Cord(Decimal(csa), Decimal(length), moulded_plug=moulded)
    assert check_fuse(cord, Decimal(fuse)).answer == answer


def test_a_fuse_too_large_fails_the_item_and_names_the_one_to_fit() -> None:
    item = replace(LAMP, cord=Cord(Decimal("0.5"), Decimal(2)), fuse_a=Decimal(13))
    (worst, *_) = list_advice(item)
    assert (worst.code, worst.severity) == ("fuse-too-large", Severity.FAIL)
    assert worst.text.endswith("fit a fuse of at most 3 A.")
    moulded = replace(item, cord=Cord(Decimal("0.75"), Decimal(3), moulded_plug=True))
    assert codes(moulded)["fuse-too-large"] is Severity.ADVICE, "allowed by BS 1363-1 as a test house reads it"


@pytest.mark.parametrize(
    ("power", "fuse", "motor", "code"),
    [
        ("2200", "3", False, "fuse-too-small"),
        ("700", "13", False, "fuse-larger-than-needed"),
        ("701", "13", False, None),
        ("500", "3", True, "motor-inrush"),
        ("500", "3", False, None),
    ],
)
def test_the_fuse_fits_the_load(power: str, fuse: str, motor: bool, code: str | None) -> None:
    cord = Cord(Decimal("1.25"), Decimal(2), moulded_plug=True)
    item = replace(KETTLE, cord=cord, rated_power_w=Decimal(power), fuse_a=Decimal(fuse), motor=motor)
    assert list(codes(item)) == ([] if code is None else [code])


def test_the_current_comes_from_the_marking_or_from_power_and_supply() -> None:
    """I = P / U at 230 V and 110 V; in three-phase P / (3 × 230 V) in each line, for a balanced load."""
    assert number_rated_current(replace(KETTLE, rated_current_a=Decimal(9))) == 9
    assert number_rated_current(KETTLE) == Decimal("9.5652")
    assert number_rated_current(replace(KETTLE, supply=Supply.CENTRE_TAPPED_110)) == 20
    assert number_rated_current(replace(KETTLE, supply=Supply.THREE_PHASE_400, rated_power_w=Decimal(6900))) == 10
    assert number_rated_current(replace(KETTLE, rated_power_w=None)) is None


def test_a_cord_too_small_for_the_load_is_told() -> None:
    thin = replace(KETTLE, cord=Cord(Decimal("0.5"), Decimal(1)), fuse_a=None)
    assert "cord-too-small" in codes(thin)
    long = replace(KETTLE, cord=Cord(Decimal("1.0"), Decimal(3)), rated_power_w=Decimal(2400), fuse_a=None)
    assert codes(long) == {"cord-too-small": Severity.ADVICE}
    below = replace(KETTLE, cord=Cord(Decimal("1.25"), Decimal(3)), rated_power_w=Decimal(2400), fuse_a=None)
    assert codes(below) == {"cord-below-product-standard": Severity.NOTE}
    short = replace(below, cord=replace(CORD, length_m=Decimal(2)), rated_power_w=Decimal(2200))
    assert codes(short) == {}, "0.75 mm² up to 2 m may carry up to 10 A"
    assert suggest_cord_size(Decimal(64)) is None
    assert number_cord_rating(Cord()) is None


def test_leads_by_length_plug_and_earth() -> None:
    long = replace(LEAD, cord=Cord(Decimal("1.5"), Decimal(20), moulded_plug=True))
    assert codes(long) == {"lead-too-long": Severity.ADVICE}
    assert codes(RCD_LEAD) == {"lead-long-with-rcd": Severity.NOTE}
    weak = replace(RCD_LEAD, rcd=Rcd(Decimal(100)))
    assert set(codes(weak)) == {"lead-too-long", "rcd-above-30-ma"}
    assert codes(replace(LEAD, construction=Construction.CLASS_II)) == {"lead-without-earth": Severity.FAIL}
    assert codes(replace(LEAD, kind=Kind.DETACHABLE_CORD, construction=Construction.CLASS_II)) == {}
    assert number_loop_resistance(Decimal("0.9"), Decimal(5)) is None
    assert may_clear_fault(Decimal("1.5"), Decimal(50)) is True
    assert may_clear_fault(Decimal("0.75"), Decimal(50)) is False
    assert may_clear_fault(Decimal("0.9"), Decimal(50)) is None


def test_reels_carry_less_while_wound_up() -> None:
    wound = replace(LEAD, reel=Reel(layers=2))
    assert codes(wound) == {"reel-fuse": Severity.ADVICE, "reel-derated": Severity.NOTE}
    assert [advice.text for advice in list_advice(wound) if advice.code == "reel-derated"] == [
        "Wound up it carries 13 A × 0.65 = 8.45 A: unwind for more."
    ]
    closed = replace(LEAD, reel=Reel(ventilated=False))
    assert codes(closed) == {"reel-unwind": Severity.ADVICE}
    assert number_reel_factor(Reel(radial=True)) == Decimal("0.85")
    assert number_reel_factor(Reel(radial=True, ventilated=False)) == Decimal("0.75")
    assert number_reel_factor(Reel(layers=5)) is None


def test_a_ramp_test_on_alternating_current() -> None:
    """On a.c. above half up to the rating; pulsed from 35 % up to 1.4 times (IEC 61008, the last from memory)."""
    rated = Decimal(30)
    assert [may_trip_at(rated, Decimal(trip), pulsed=False) for trip in (15, 16, 30, 31)] == [False, True, True, False]
    assert [may_trip_at(rated, Decimal(trip), pulsed=True) for trip in (10, 11, 42, 43)] == [False, True, True, False]
