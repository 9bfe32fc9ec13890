"""First intervals after HSE INDG236 and HSG107 (3rd edition), with those from memory marked; how answers move them is
Ohmstead's own ladder.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.equipment import Construction, Environment, ItemFacts, Kind, Supply, Use
from app.rules.intervals import next_due, suggest_interval
from app.rules.risks import (
    LADDER_MONTHS,
    QUESTIONS,
    WORDS,
    Level,
    RiskAnswers,
    list_risk_steps,
    suggest_by_risk,
    total_risk_points,
)
from app.rules.rulebooks import Status

II = Construction.CLASS_II


@pytest.mark.parametrize(
    ("item", "environment", "months", "status"),
    [
        (ItemFacts(), "office", 12, Status.SEEN),
        (ItemFacts(use=Use.IT), "office", 60, Status.SEEN),
        (ItemFacts(use=Use.IT, construction=II), "office", None, Status.SEEN),
        (ItemFacts(construction=II, use=Use.HAND_HELD), "hotel", None, Status.SEEN),
        (ItemFacts(construction=II, use=Use.MOVABLE), "care-home", None, Status.SEEN),
        (ItemFacts(kind=Kind.EXTENSION_LEAD), "shop", 12, Status.MEMORY),
        (ItemFacts(construction=Construction.CLASS_III), "heavy-industrial", None, Status.SEEN),
        (ItemFacts(), "school", 12, Status.SEEN),
        (ItemFacts(), "public", 12, Status.SEEN),
        (ItemFacts(), "light-industrial", 6, Status.SEEN),
        (ItemFacts(), "heavy-industrial", 6, Status.SEEN),
        (ItemFacts(), "commercial-kitchen", 6, Status.SEEN),
        (ItemFacts(supply=Supply.CENTRE_TAPPED_110), "construction", 3, Status.SEEN),
        (ItemFacts(), "construction", 1, Status.SEEN),
        (ItemFacts(kind=Kind.PORTABLE_RCD), "construction", 1, Status.MEMORY),
        (ItemFacts(use=Use.IT), "construction", 12, Status.MEMORY),
        (ItemFacts(), "hire", None, Status.SEEN),
    ],
)
def test_the_first_interval_by_place_and_equipment(
    item: ItemFacts, environment: str, months: int | None, status: Status
) -> None:
    advice = suggest_interval(item, Environment(environment))
    assert (advice.months, advice.status) == (months, status)
    assert "dutyholder decides" in advice.sentence
    assert advice.source in advice.sentence
    assert ("from memory" in advice.sentence) is (status is Status.MEMORY)


@pytest.mark.parametrize(
    ("tested_on", "months", "due"),
    [
        ("2026-01-31", 1, "2026-02-28"),
        ("2028-01-31", 1, "2028-02-29"),
        ("2025-03-03", 3, "2025-06-03"),
        ("2025-11-30", 3, "2026-02-28"),
        ("2025-12-31", 12, "2026-12-31"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
    ],
)
def test_the_next_date_counts_calendar_months(tested_on: str, months: int, due: str) -> None:
    assert next_due(date.fromisoformat(tested_on), months) == date.fromisoformat(due)


def test_without_an_interval_nothing_is_due() -> None:
    assert next_due(date(2026, 1, 1), None) is None


levels = st.sampled_from(Level)
answers = st.builds(RiskAnswers, levels, levels, levels, levels, levels)


@given(answers, st.sampled_from(Environment), st.sampled_from(Use), st.sampled_from(Construction))
def test_answers_move_an_interval_by_rungs_and_never_beyond_the_table(
    given_answers: RiskAnswers, environment: Environment, use: Use, construction: Construction
) -> None:
    advice = suggest_interval(ItemFacts(use=use, construction=construction), environment)
    moved = suggest_by_risk(advice, given_answers)
    if advice.months is None or moved.months is None:
        assert advice.months is moved.months is None
        return
    assert advice.test_months is not None
    assert moved.months <= max(advice.test_months[1], advice.months)
    total = given_answers.total
    assert (moved.months < advice.months) <= (total >= 2)
    assert (moved.months > advice.months) <= (total <= -2)


def test_harsher_answers_are_told_with_their_sum() -> None:
    advice = suggest_interval(ItemFacts(), Environment.OFFICE)
    harsh = RiskAnswers(environment=Level.HARSH, handling=Level.HARSH)
    assert suggest_by_risk(advice, harsh).sentence == (
        "The answers add up to +2: 6 months, shorter than the table's 12. A person decides, with a reason."
    )
    mild = RiskAnswers(*(Level.MILD,) * 5)
    assert suggest_by_risk(advice, mild).months == 24, "the table's 1 to 2 years is the end of it"
    assert suggest_by_risk(advice, RiskAnswers()).months == 12
    assert tuple(sorted(LADDER_MONTHS)) == LADDER_MONTHS


@pytest.mark.parametrize(
    ("wet", "flexed", "heats", "points", "group"),
    [(True, True, True, 5, "A high"), (False, False, True, 1, "B medium"), (False, False, False, 0, "C low")],
)
def test_risk_points(wet: bool, flexed: bool, heats: bool, points: int, group: str) -> None:
    """UK training pages: 2 for water, 2 for a flexed cord, 1 for heat or motor; A from 2, B 1, C 0."""
    found = total_risk_points(wet=wet, flexed=flexed, heats_or_has_motor=heats)
    assert (found.points, found.group) == (points, group)


@given(answers, st.sampled_from(Environment), st.sampled_from(Use))
def test_the_steps_end_where_the_suggestion_does(
    given_answers: RiskAnswers, environment: Environment, use: Use
) -> None:
    advice = suggest_interval(ItemFacts(use=use), environment)
    steps = list_risk_steps(advice, given_answers)
    assert [step.question for step in steps] == list(QUESTIONS)
    assert steps[-1].total == given_answers.total
    assert steps[-1].months == suggest_by_risk(advice, given_answers).months
    before = 0
    for step in steps:
        assert step.total - before == step.level.step
        assert step.word.lower().endswith(WORDS[step.question][step.level.step + 1].lower())
        before = step.total


def test_answers_beyond_the_range_say_so() -> None:
    advice = suggest_interval(ItemFacts(use=Use.IT), Environment.OFFICE)
    mild = RiskAnswers(environment=Level.MILD, users=Level.MILD)
    assert "already the end of the table's range" in suggest_by_risk(advice, mild).sentence
