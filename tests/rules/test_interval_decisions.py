"""What is wrong with a decision, and what speaks against a longer interval; the wording is Ohmstead's own."""

import pytest

from app.rules.equipment import Environment, ItemFacts, Use
from app.rules.failure_rates import judge_failure_rate
from app.rules.interval_decisions import (
    IntervalDecision,
    check_decision,
    check_doubts,
    describe_months,
    list_doubts,
    may_lengthen,
    parse_answers,
)
from app.rules.intervals import suggest_interval
from app.rules.people import Role
from app.rules.risks import Level, RiskAnswers


@pytest.mark.parametrize(
    ("decision", "fields"),
    [
        (IntervalDecision(12, "Rarely moved"), set()),
        (IntervalDecision(None, "As for the others"), set()),
        (IntervalDecision(12, "  "), {"reason"}),
        (IntervalDecision(0, "x"), {"months"}),
        (IntervalDecision(121, "x" * 401), {"months", "reason"}),
    ],
)
def test_a_decision_has_months_and_a_reason(decision: IntervalDecision, fields: set[str]) -> None:
    assert set(check_decision(decision)) == fields


def test_only_a_longer_interval_is_doubted() -> None:
    few, many = judge_failure_rate(0, 41), judge_failure_rate(0, 150)
    assert list_doubts(12, 24, few)[0].startswith("The evidence does not carry a longer interval: 0 of 41 failed")
    assert list_doubts(12, None, few), "no interval at all is the longest"
    assert list_doubts(12, 24, many) == list_doubts(24, 12, few) == list_doubts(12, 12, None) == ()
    assert list_doubts(None, 60, None) == (), "from nothing due to something due is not longer"
    assert "no evidence" in list_doubts(12, 24, None)[0]
    assert "too late" in list_doubts(12, 24, many, ["Insulation resistance reaches its limit"])[0]


def test_good_evidence_does_not_carry_any_length() -> None:
    """HSE INDG236: earthed equipment in an office is tested after 1 to 2 years; one step at a time is ours."""
    kettle, many = suggest_interval(ItemFacts(), Environment.OFFICE), judge_failure_rate(0, 200)
    assert list_doubts(12, 24, many, advice=kettle) == ()
    beyond, step = list_doubts(12, 120, many, advice=kettle)
    assert beyond == ("HSE's row ends at 24 months (Earthed (Class I): combined inspection and test 1 to 2 years).")
    assert step.startswith("It is more than one step: 24 months is the most after 12 months.")
    assert list_doubts(60, 48, many, advice=kettle) == (), "shorter is never doubted"
    computer = suggest_interval(ItemFacts(use=Use.IT), Environment.OFFICE)
    assert "48 months" in list_doubts(48, 60, many, advice=computer)[0], "its visual inspection comes first"
    assert list_doubts(1, 3, many) == () and list_doubts(1, 6, many), "from a month the next step is three"
    assert list_doubts(12, None, many), "nothing at all is more than a step"


def test_a_chosen_time_is_held_against_all_records() -> None:
    good, bad = judge_failure_rate(0, 150), judge_failure_rate(10, 300)
    (doubt,) = list_doubts(12, 24, good, whole=bad)
    assert doubt.startswith("Over all records the evidence says less for it") and "10 of 300 failed" in doubt
    milder, clear = judge_failure_rate(4, 82), judge_failure_rate(10, 87)
    assert any("10 of 87" in doubt for doubt in list_doubts(12, 24, milder, whole=clear))
    assert list_doubts(12, 24, good, whole=judge_failure_rate(0, 400)) == ()


def test_only_the_office_lengthens() -> None:
    assert may_lengthen(Role.TECHNICIAN) and not may_lengthen(Role.OFFICE) and not may_lengthen(Role.OWNER)


def test_doubts_have_to_be_seen() -> None:
    assert check_doubts(("Too few.",), seen=False).keys() == {"all_the_same"}
    assert check_doubts(("Too few.",), seen=True) == check_doubts((), seen=False) == {}


def test_answers_that_nobody_gave_are_usual() -> None:
    assert parse_answers({"age": "harsh", "users": "wild"}) == RiskAnswers(age=Level.HARSH)
    assert [describe_months(months) for months in (None, 1, 12)] == [
        "no test falls due",
        "every month",
        "every 12 months",
    ]
