"""Cases of the machine interface that say little: nothing is guessed, so what is not said is judged by the strictest
limit it could mean, failed by the loosest, and left to a person in between.
"""

import pytest
from jsonschema import Draft202012Validator

from app.rules.case_schema import CASE_SCHEMA
from app.rules.cases import CaseProblems
from tests.rules.case_tools import Json, judge, only, reading

TAKES = Draft202012Validator(CASE_SCHEMA)
CLASS_I: Json = {"kind": "appliance", "construction": "I"}


def outcome(rulebook: str, item: Json, found: Json) -> str:
    TAKES.validate({"rulebook": rulebook, "item": item, "readings": [found]})
    return str(only(judge(rulebook, item, found))["outcome"])


@pytest.mark.parametrize(
    ("rulebook", "use", "value", "expected"),
    [
        ("uk-2012", None, "0.75", "pass"),
        ("uk-2012", None, "0.76", "inconclusive"),
        ("uk-2012", None, "3.5", "inconclusive"),
        ("uk-2012", None, "3.51", "fail"),
        ("uk-2012", "movable", "3.5", "pass"),
        ("uk-2020", None, "5", "pass"),
        ("en-50699", None, "3.5", "pass"),
    ],
)
@pytest.mark.parametrize("check", ["protective-conductor-current", "substitute-leakage-current"])
def test_a_use_that_is_not_said(check: str, rulebook: str, use: str | None, value: str, expected: str) -> None:
    """0.75 mA hand-held and portable, 3.5 mA all else (UK Code of Practice up to its 4th edition); 5 mA for all (5th);
    3.5 mA (DGUV Information 203-071).
    """
    assert outcome(rulebook, {**CLASS_I, "use": use}, reading(check, value, "mA")) == expected


@pytest.mark.parametrize(
    ("multiple", "value", "expected"),
    [
        ("1", "200", "pass"),
        ("1", "201", "inconclusive"),
        ("1", "300", "inconclusive"),
        ("1", "301", "fail"),
        ("2", "150", "pass"),
        ("2", "151", "inconclusive"),
        ("5", "40", "pass"),
        ("5", "41", "fail"),
        ("0.5", "90", "fail"),
    ],
)
def test_a_product_standard_that_is_not_said(multiple: str, value: str, expected: str) -> None:
    """At 1 × 200 ms (BS 7288) to 300 ms (EN 61008), at 2 × 150 ms or no figure, at 5 × 40 ms in all; trade tables."""
    rcd = {"kind": "rcd-lead", "construction": "I", "rcd": {"rated_ma": "30"}}
    assert outcome("uk-2012", rcd, reading("rcd-trip-time", value, "ms", multiple=multiple)) == expected


def test_a_load_may_be_told_in_amperes() -> None:
    """20 % above the rated current at the widest (EN 60335-1, 10.2, from memory); without a rating it is noted."""
    item: Json = {**CLASS_I, "rated_current_a": "10"}
    assert outcome("uk-2012", item, reading("load", "12", "A")) == "pass"
    assert outcome("uk-2012", item, reading("load", "12001", "mA")) == "inconclusive"
    assert outcome("uk-2012", {**CLASS_I, "rated_power_w": "2300"}, reading("load", "9.6", "A")) == "pass"


def test_an_outcome_may_stand_beside_what_goes_with_it() -> None:
    """The volts of a dielectric strength test say nothing of its outcome; a trip time says that it tripped."""
    flash = {"check": "dielectric-strength", "value": "1500", "unit": "V", "outcome": "pass"}
    assert outcome("uk-2012", CLASS_I, flash) == "pass"
    assert "with 1500 V: pass" in only(judge("uk-2012", CLASS_I, flash))["sentence"]
    with pytest.raises(CaseProblems) as refused:
        judge("uk-2012", CLASS_I, {**flash, "outcome": None})
    assert refused.value.problems[0]["path"] == "/readings/0/outcome"
    trip = reading("rcd-trip-time", "28", "ms", multiple="1", outcome="trip")
    rcd = {"rated_ma": "30", "product": "EN 61008"}
    assert outcome("uk-2012", {"kind": "portable-rcd", "construction": "II", "rcd": rcd}, trip) == "pass"


def test_a_cord_in_no_table_is_named() -> None:
    item: Json = {**CLASS_I, "cord": {"csa_mm2": "0.8", "length_m": "2"}}
    found = only(judge("uk-2012", item, reading("protective-conductor-resistance", "0.11", "ohm")))
    assert (found["outcome"], found["working"]) == ("inconclusive", "0.1 + 0, a cord of 0.8 mm² being in no table")
