"""First intervals after HSE INDG236 and HSG107 (3rd edition), with those from memory marked; how answers move them is
Ohmstead's own ladder.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.equipment import Construction, Environment, ItemFacts, Kind, Supply, Use
from app.rules.intervals import FallsDue, describe_due, judge_due, next_due, suggest_interval
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
        (ItemFacts(kind=Kind.PORTABLE_RCD, construction=II, use=Use.MOVABLE), "school", 12, Status.MEMORY),
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
    assert advice.months is None or advice.falls_due is FallsDue.VISUAL or advice.due_months == months
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
    moved, begin = suggest_by_risk(advice, given_answers), advice.due_months
    if begin is None or moved.months is None:
        assert begin is moved.months is None
        return
    has = advice.visual_months if advice.falls_due is FallsDue.VISUAL else advice.test_months
    assert has is not None and moved.months <= max(has[1], begin)
    total = given_answers.total
    assert (moved.months < begin) == (total >= 2 and begin > 1)
    assert (moved.months > begin) <= (total <= -2)
    assert "1 months" not in moved.sentence


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


@pytest.mark.parametrize(
    ("item", "environment", "level", "says"),
    [
        (ItemFacts(use=Use.IT), "office", Level.MILD, "−5, but 48 months is already the longest that the table has"),
        (ItemFacts(), "construction", Level.MILD, "−5, but 1 month is already the longest that the table has"),
        (ItemFacts(), "construction", Level.HARSH, "+5, but 1 month is already the shortest step that there is"),
        (ItemFacts(), "light-industrial", Level.HARSH, "+5: 1 month, shorter than the table's 6"),
        (ItemFacts(), "hire", Level.HARSH, "test before each issue, whatever the answers"),
        (ItemFacts(extra_low_voltage=True), "office", Level.HARSH, "neither a test nor a formal visual inspection"),
    ],
)
def test_answers_that_cannot_move_it_say_so(item: ItemFacts, environment: str, level: Level, says: str) -> None:
    answers = RiskAnswers(*(level,) * 5)
    assert says in suggest_by_risk(suggest_interval(item, Environment(environment)), answers).sentence


@pytest.mark.parametrize(
    ("item", "environment", "first", "months", "longest"),
    [
        # INDG236: earthed IT, formal visual 2 to 4 years before a test at up to 5; no test where double insulated.
        (ItemFacts(use=Use.IT), "office", FallsDue.VISUAL, 48, 48),
        (ItemFacts(use=Use.IT, construction=II), "school", FallsDue.VISUAL, 48, 48),
        (ItemFacts(construction=II, use=Use.HAND_HELD), "hotel", FallsDue.VISUAL, 12, 12),
        # Earthed, 6 months to 1 year and 1 to 2 years: both meet after a year, and a test holds an inspection.
        (ItemFacts(), "office", FallsDue.TEST, 12, 24),
        # HSG107: after 3 months, weekly, monthly. Those are rounds of the place's own people.
        (ItemFacts(), "public", FallsDue.TEST, 12, 12),
        (ItemFacts(), "heavy-industrial", FallsDue.TEST, 6, 12),
        (ItemFacts(supply=Supply.CENTRE_TAPPED_110), "construction", FallsDue.TEST, 3, 3),
        (ItemFacts(), "hire", None, None, None),
    ],
)
def test_the_earlier_of_test_and_visual_inspection_falls_due(
    item: ItemFacts, environment: str, first: FallsDue | None, months: int | None, longest: int | None
) -> None:
    advice = suggest_interval(item, Environment(environment))
    assert (advice.falls_due, advice.due_months, advice.longest_months) == (first, months, longest)


def test_what_falls_due_is_told_by_the_day_and_by_the_months() -> None:
    computer, day = suggest_interval(ItemFacts(use=Use.IT), Environment.OFFICE), date(2026, 4, 1)
    assert judge_due(computer, day, date(2030, 4, 1)) is FallsDue.VISUAL
    assert judge_due(computer, day, date(2031, 4, 1)) is FallsDue.TEST, "by then HSE's row has the test"
    assert judge_due(computer, day, None) is None
    assert "formal visual inspection falls due first; HSE's row has the combined test up to 5 years" in describe_due(
        computer, 36
    )
    kettle = suggest_interval(ItemFacts(), Environment.OFFICE)
    assert describe_due(kettle, 12).endswith("it holds the formal visual inspection.")
    assert "(6 months to 1 year): the dutyholder's own round" in describe_due(kettle, 24)
