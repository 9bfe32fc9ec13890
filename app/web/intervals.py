"""How often one item is tested: HSE's row, answers about risk, the firm's own evidence and the trends propose; a
person decides, with a reason, and the history of decisions stays readable.
"""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.intervals import decide_interval
from app.actions.items import describe_type_reason, interval_months_of
from app.rules.equipment import Environment
from app.rules.interval_decisions import DUTY, ONLY_OFFICE, YEARS_USUAL, describe_months
from app.rules.intervals import describe_due
from app.rules.items import ItemState
from app.rules.reading_histories import describe_history
from app.rules.risks import QUESTIONS, WORDS, Level
from app.rules.trends import FEWEST
from app.rules.verdicts import Mistakes
from app.store.evidence import find_known_evidence
from app.store.intervals import list_interval_decisions
from app.store.items import ItemRow, get_item
from app.store.reading_histories import list_reading_histories
from app.web.fields import Form
from app.web.interval_evidence import COUNTING, show_doubts
from app.web.interval_fields import new_decision, show_risk
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page
from app.web.trend_warnings import show_item_horizon

routes = APIRouter()


@routes.get("/items/{item_id}/interval")
def show_interval(request: Request, session: Reading, desk: TheDesk, asked: Asked, item_id: int) -> Response:
    row = get_item(session, item_id)
    # Without script the answers come back in the address, with whatever was typed already.
    shown = {"months": str(row.interval_months or ""), "version": str(row.version)}
    form = Form(shown | {name: value for name, value in asked.values.items() if name != "version"})
    return page(request, "intervals/show.html", form=form, doubts=(), **_context(session, desk, row, form))


@routes.get("/items/{item_id}/interval/parts/steps")
def part_steps(request: Request, session: Reading, asked: Asked, item_id: int) -> Response:
    """What each answer does to the interval that HSE's table suggests."""
    row = get_item(session, item_id)
    risk = show_risk(asked, row.facts, Environment(row.premises.environment))
    return page(request, "intervals/_steps.html", **risk)


@routes.post("/items/{item_id}/interval")
def save_interval(request: Request, deed: Doing, desk: TheDesk, sent: Sent, item_id: int) -> Response:
    row = get_item(deed.session, item_id)
    try:
        decide_interval(deed, item_id, new_decision(sent), sent.version())
    except Mistakes as wrong:
        context = _context(deed.session, desk, row, sent) | {"doubts": show_doubts(wrong)}
        raise ask_again(request, "intervals/show.html", sent, wrong, **context) from wrong
    return go(f"/items/{item_id}/interval#decisions")


def _context(session: Session, desk: TheDesk, row: ItemRow, form: Form) -> dict[str, Any]:
    histories = list_reading_histories(session, [row.id])
    limited = [history for history in histories if history.at_most is not None or history.at_least is not None]
    horizon = show_item_horizon(row, row.next_due_on, desk.today)
    told = [(history.title, describe_history(history, horizon)) for history in limited]
    decisions = list_interval_decisions(session, row.id)
    group = (row.customer_id, row.equipment_type_id, row.premises.environment)
    evidence = find_known_evidence(session, desk.today, YEARS_USUAL, *group)
    risk = show_risk(form, row.facts, Environment(row.premises.environment))
    return {
        "item": row,
        "withdrawn": row.state == ItemState.WITHDRAWN,
        "now": describe_months(interval_months_of(row)),
        "due_words": describe_due(risk["advice"], interval_months_of(row)),
        "usual": describe_months(interval_months_of(row, own=False)),
        "usual_reason": describe_type_reason(row),
        "evidence": evidence,
        "only_office": ONLY_OFFICE,
        "counting": COUNTING,
        "duty": DUTY,
        "trends": [(title, each) for title, each in told if each.sentence],
        "fewest": FEWEST,
        "decisions": [
            (
                each,
                describe_months(each.months) if each.months else "as usual",
                describe_months(each.months_before),
                _answer_words(each.answers),
            )
            for each in decisions
        ],
        "today": desk.today,
        "back": f"/items/{row.id}/interval",
    } | risk


def _answer_words(answers: dict[str, Any] | None) -> list[str]:
    """The answers of a decision in words, those out of the usual only."""
    if not answers:
        return []
    found = [(question, Level(answers[question])) for question in QUESTIONS if answers.get(question) in list(Level)]
    return [WORDS[question][level.step + 1] for question, level in found if level is not Level.USUAL]
