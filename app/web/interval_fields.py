"""The fields of a decision about an interval: the answers about risk, months and reason."""

from typing import Any

from app.rules.equipment import Environment, ItemFacts
from app.rules.interval_decisions import REASON_MOST, YEARS_USUAL, IntervalDecision, parse_answers
from app.rules.intervals import ROWS, suggest_interval
from app.rules.items import MONTHS_MOST
from app.rules.risks import LADDER_MONTHS, QUESTIONS, WORDS, Level, list_risk_steps, suggest_by_risk
from app.web.fields import Form


def new_decision(sent: Form, years: int = YEARS_USUAL) -> IntervalDecision:
    """What was typed, on the evidence of so many years. Raises Mistakes."""
    months, reason = sent.whole("months", 1, MONTHS_MOST), sent.text("reason", REASON_MOST)
    sent.done()
    all_the_same = sent.tick("all_the_same")
    return IntervalDecision(months, reason, parse_answers(sent.values), years=years, all_the_same=all_the_same)


def show_answers_to_risk(form: Form) -> dict[str, str]:
    """The answers as the form shows them: usual where nothing was chosen."""
    return {question: str(getattr(parse_answers(form.values), question)) for question in QUESTIONS}


def show_risk(form: Form, facts: ItemFacts, environment: Environment) -> dict[str, Any]:
    """HSE's row for this equipment and place, the questions, and what each answer does to it."""
    advice, answers = suggest_interval(facts, environment), parse_answers(form.values)
    form.values |= show_answers_to_risk(form)
    return {
        "advice": advice,
        "hse": ROWS[advice.key],
        "questions": [
            (question, text, list(zip(Level, WORDS[question], strict=True))) for question, text in QUESTIONS.items()
        ],
        "steps": list_risk_steps(advice, answers),
        "by_risk": suggest_by_risk(advice, answers),
        "ladder": ", ".join(str(months) for months in LADDER_MONTHS),
    }
