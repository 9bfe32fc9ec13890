"""Reading what a person types. SI prefixes: BIPM, SI Brochure, 9th edition, table 7; the rest is common practice, no
source.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.quantities import (
    Bound,
    Reading,
    Unit,
    convert_for_lead,
    convert_number,
    convert_reading,
    describe_number,
    parse_number,
    parse_reading,
)

TYPED = [
    ("0,21", Unit.OHM, "0.21", Bound.EXACT),
    ("0.21 Ω", Unit.OHM, "0.21", Bound.EXACT),
    ("0.21\u2126", Unit.OHM, "0.21", Bound.EXACT),
    ("  .5 ", Unit.OHM, "0.5", Bound.EXACT),
    ("210 mΩ", Unit.OHM, "0.210", Bound.EXACT),
    ("210mohm", Unit.OHM, "0.210", Bound.EXACT),
    (">20", Unit.MEGOHM, "20", Bound.ABOVE),
    ("> 20 MΩ", Unit.MEGOHM, "20", Bound.ABOVE),
    (">\u00a020\u00a0MΩ", Unit.MEGOHM, "20", Bound.ABOVE),
    ("<0.05", Unit.OHM, "0.05", Bound.BELOW),
    ("2 GΩ", Unit.MEGOHM, "2000", Bound.EXACT),
    ("900 kΩ", Unit.MEGOHM, "0.900", Bound.EXACT),
    ("250 µA", Unit.MILLIAMP, "0.250", Bound.EXACT),
    ("250 \u03bcA", Unit.MILLIAMP, "0.250", Bound.EXACT),
    ("0,75 ma", Unit.MILLIAMP, "0.75", Bound.EXACT),
    ("0.028 s", Unit.MILLISECOND, "28", Bound.EXACT),
    ("2.2 kW", Unit.VOLT_AMP, "2200", Bound.EXACT),
    ("4.9 mW/cm²", Unit.WATT_PER_M2, "49", Bound.EXACT),
    ("0", Unit.OHM, "0", Bound.EXACT),
]

REFUSED = [
    ("", "Type the reading"),
    ("abc", "not a number"),
    ("-0.2", "below zero"),
    ("−0.2", "below zero"),
    ("<0", "below zero"),
    ("nan", "not a number"),
    ("inf", "not a number"),
    ("1e5", "unit"),
    ("1.2.3", "one decimal point"),
    ("1,000.5", "one decimal point"),
    ("1,000", "two ways"),
    ("12 345", "one decimal point"),
    ("0.2 V", "measures voltage"),
    ("0.2 furlong", "not a unit"),
    (">>20", "not a number"),
    ("≥20", "Use >"),
    ("99999999999999", "too large"),
    ("0.2 " + "x" * 50, "too long"),
    # With 29 digits a change of unit would round it onto the limit; no instrument shows so many.
    ("139.00000000000000000000000001 mΩ", "too long"),
]


@pytest.mark.parametrize(("text", "unit", "value", "bound"), TYPED)
def test_what_was_typed_becomes_a_reading_in_the_unit_of_the_field(
    text: str, unit: Unit, value: str, bound: Bound
) -> None:
    assert parse_reading(text, unit) == Reading(Decimal(value), unit, bound)


@pytest.mark.parametrize(("text", "why"), REFUSED)
def test_what_cannot_be_a_reading_is_refused_with_a_sentence(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why) as refused:
        parse_reading(text, Unit.OHM)
    assert str(refused.value).endswith((".", "less."))


def test_a_reading_writes_itself_with_its_bound_and_unit() -> None:
    assert Reading(Decimal(20), Unit.MEGOHM, Bound.ABOVE).text == "> 20 MΩ"
    assert Reading(Decimal("0.05"), Unit.OHM, Bound.BELOW).text == "< 0.05 Ω"
    assert Reading(Decimal("1E+3"), Unit.MILLISECOND).text == "1000 ms"


@given(st.decimals(0, 10**6, places=6), st.sampled_from(list(Unit)), st.sampled_from(list(Unit)))
def test_there_and_back_between_units_changes_nothing(value: Decimal, unit: Unit, other: Unit) -> None:
    if unit.dimension != other.dimension:
        with pytest.raises(ValueError, match="measures"):
            convert_number(value, unit, other)
        return
    there = convert_reading(Reading(value, unit), other)
    assert convert_reading(there, unit).value == value


def test_power_density_converts_by_area() -> None:
    """1 mW/cm² = 10 W/m² (SI prefixes)."""
    assert convert_number(Decimal("4.9"), Unit.MILLIWATT_PER_CM2, Unit.WATT_PER_M2) == 49


def test_the_test_lead_is_subtracted_and_never_gives_less_than_nothing() -> None:
    measured, lead = Reading(Decimal("0.25"), Unit.OHM), Reading(Decimal(40), Unit.MILLIOHM)
    assert convert_for_lead(measured, lead) == Reading(Decimal("0.21"), Unit.OHM)
    with pytest.raises(ValueError, match="bigger than the reading"):
        convert_for_lead(Reading(Decimal("0.03"), Unit.OHM), lead)
    with pytest.raises(ValueError, match="exact"):
        convert_for_lead(measured, Reading(Decimal("0.05"), Unit.OHM, Bound.BELOW))


def test_numbers_of_forms() -> None:
    assert parse_number("1,5") == Decimal("1.5")
    assert parse_number("1.5 m", unit="m") == Decimal("1.5")
    for text, why in [("", "Type"), ("-1", "below zero"), ("1.5.2", "one decimal"), ("9999999", "at most 1000000")]:
        with pytest.raises(ValueError, match=why):
            parse_number(text)
    with pytest.raises(ValueError, match="at least 1"):
        parse_number("0.5", least=Decimal(1))
    with pytest.raises(ValueError, match="decimals"):
        parse_number("0.123", places=2)


@pytest.mark.parametrize(
    ("value", "text"), [("0.1390", "0.139"), ("1E+2", "100"), ("0.12345678", "0.123457"), ("0.0000005", "0.000001")]
)
def test_a_number_is_written_plainly(value: str, text: str) -> None:
    assert describe_number(Decimal(value)) == text
