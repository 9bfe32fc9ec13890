"""What is wrong with a decision, and what speaks against a longer interval; the wording is Ohmstead's own."""

import pytest

from app.rules.failure_rates import judge_failure_rate
from app.rules.interval_decisions import (
    IntervalDecision,
    check_decision,
    check_doubts,
    describe_months,
    list_doubts,
    parse_answers,
)
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
