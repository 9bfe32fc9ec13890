"""What a failed check means in plain words. Common practice, no source: which faults are urgent."""

import pytest

from app.rules.checks import Check
from app.rules.dangers import describe_danger

NOT_URGENT = {Check.FUNCTIONAL, Check.LOAD}


@pytest.mark.parametrize("check", list(Check))
def test_every_check_has_a_sentence_of_its_own(check: Check) -> None:
    danger = describe_danger(check.value)
    assert danger.sentence.endswith(".")
    assert danger != describe_danger("something else")
    assert danger.urgent is (check not in NOT_URGENT)


def test_no_sentence_is_for_the_trade_only() -> None:
    said = " ".join(describe_danger(check.value).sentence for check in Check)
    for word in ("Ω", "resistance", "Class", "PE", "milliamp"):
        assert word not in said


def test_an_unknown_code_is_still_answered() -> None:
    assert describe_danger("of tomorrow").sentence
