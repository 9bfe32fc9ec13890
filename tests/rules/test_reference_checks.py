"""What an instrument may show for a known value: the band, the verdict with its working, and what a history says.

The arithmetic of the bands is worked by hand; that interim checks are logged monthly is common practice, no source.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.checks import Check
from app.rules.quantities import Bound, Reading, Unit, convert_reading
from app.rules.reference_checks import (
    Allowed,
    ReferenceDetails,
    check_reference_details,
    describe_reference_band,
    describe_reference_history,
    judge_reference_check,
)

OHM = ReferenceDetails("1 Ω resistor", Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Decimal(1), Unit.OHM, Decimal(5))
MEGOHM = ReferenceDetails(
    "1 MΩ resistor", Check.INSULATION_RESISTANCE, Decimal(1), Unit.MEGOHM, Decimal("0.1"), Allowed.ABSOLUTE
)


@pytest.mark.parametrize(
    ("shown", "passed", "margin"),
    [
        ("1", True, "0.05"),
        ("1.05", True, "0"),
        ("0.95", True, "0"),
        ("1.0501", False, "-0.0001"),
        ("0.9", False, "-0.05"),
    ],
)
def test_the_ends_of_the_band_pass(shown: str, passed: bool, margin: str) -> None:
    verdict = judge_reference_check(OHM, Reading(Decimal(shown), Unit.OHM))
    assert (verdict.passed, verdict.margin) == (passed, Decimal(margin))


def test_the_working_is_told_in_numbers() -> None:
    assert describe_reference_band(OHM) == "1 Ω ± 5 % = 0.95 Ω to 1.05 Ω"
    assert describe_reference_band(MEGOHM) == "1 MΩ ± 0.1 MΩ = 0.9 MΩ to 1.1 MΩ"
    said = judge_reference_check(OHM, Reading(Decimal("1080"), Unit.MILLIOHM)).sentence
    assert said == "1.080 Ω, band 1 Ω ± 5 % = 0.95 Ω to 1.05 Ω: fail, 0.03 Ω above it."
    assert "pass, 0.02 Ω to spare" in judge_reference_check(OHM, Reading(Decimal("1.03"), Unit.OHM)).sentence


def test_a_reading_off_the_range_fails_or_is_asked_again() -> None:
    over = judge_reference_check(MEGOHM, Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE))
    assert not over.passed and over.margin is None
    assert not judge_reference_check(OHM, Reading(Decimal("0.01"), Unit.OHM, Bound.BELOW)).passed
    with pytest.raises(ValueError, match="cannot be judged"):
        judge_reference_check(MEGOHM, Reading(Decimal("0.5"), Unit.MEGOHM, Bound.ABOVE))
    with pytest.raises(ValueError, match="is needed"):
        judge_reference_check(OHM, Reading(Decimal(1), Unit.MILLIAMP))


@given(st.decimals(min_value=0, max_value=3, places=4))
def test_a_change_of_unit_never_changes_the_verdict(value: Decimal) -> None:
    ohms = Reading(value, Unit.OHM)
    assert (
        judge_reference_check(OHM, ohms).passed
        == judge_reference_check(OHM, convert_reading(ohms, Unit.MILLIOHM)).passed
    )


@given(st.decimals(min_value=0, max_value=2, places=4), st.decimals(min_value=0, max_value=2, places=4))
def test_a_reading_nearer_the_known_value_never_does_worse(one: Decimal, other: Decimal) -> None:
    near, far = sorted((one, other), key=lambda value: abs(value - 1))
    far_passed = judge_reference_check(OHM, Reading(far, Unit.OHM)).passed
    assert judge_reference_check(OHM, Reading(near, Unit.OHM)).passed >= far_passed


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": " "}, "name"),
        ({"nominal": Decimal(0)}, "nominal"),
        ({"unit": Unit.MILLIAMP}, "unit"),
        ({"check": Check.POLARITY}, "check"),
        ({"tolerance": Decimal(0)}, "tolerance"),
        ({"tolerance": Decimal(100)}, "tolerance"),
        ({"tolerance": Decimal(1), "allowed": Allowed.ABSOLUTE}, "tolerance"),
        ({"every_days": 0}, "every_days"),
    ],
)
def test_what_cannot_be_checked_against_is_named(changed: dict[str, object], field: str) -> None:
    assert check_reference_details(OHM) == {}
    assert list(check_reference_details(ReferenceDetails(**(vars(OHM) | changed)))) == [field]


def history(values: list[str], first: date = date(2025, 1, 1)) -> list[tuple[date, Decimal, Bound, bool]]:
    days = [first + timedelta(days=30 * month) for month in range(len(values))]
    return [
        (day, Decimal(value), Bound.EXACT, judge_reference_check(OHM, Reading(Decimal(value), Unit.OHM)).passed)
        for day, value in zip(days, values, strict=True)
    ]


def test_the_sentence_of_a_history_comes_from_the_data() -> None:
    assert describe_reference_history(OHM, []) == "Not checked yet."
    assert describe_reference_history(OHM, history(["1.2"])).startswith("1 check, outside tolerance.")
    flat = describe_reference_history(OHM, history(["1.00", "1.01", "0.99", "1.00", "1.01", "0.99", "1.00"]))
    assert flat == "7 checks, all within tolerance; no drift can be told from the scatter."
    # 0.002 Ω every 30 days is 0.002 × 365.25 / 30 = 0.02435 Ω a year; 0.05 Ω above 1 Ω takes 25 × 30 days = 750 days.
    rising = [f"{Decimal(1) + Decimal('0.002') * month}" for month in range(12)]
    said = describe_reference_history(OHM, history(rising))
    assert "12 checks, all within tolerance; they drift upwards by about 0.0244 Ω a year" in said
    assert f"meet 1.05 Ω about {date(2025, 1, 1) + timedelta(days=750):%B %Y}" in said
    falling = [f"{Decimal(1) - Decimal('0.002') * month}" for month in range(12)]
    assert "drift downwards" in describe_reference_history(OHM, history(falling))
    assert "1 outside tolerance" in describe_reference_history(OHM, history([*rising, "1.2"]))
