"""How often like items in like places are tested: one decision with one reason for all that are ticked."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.intervals import decide_intervals
from app.actions.items import interval_months_of
from app.rules.equipment import Environment
from app.rules.interval_decisions import DUTY, IntervalDecision, check_doubts, describe_months, list_doubts
from app.rules.intervals import next_due
from app.rules.reading_histories import list_trend_warnings
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.database import Missing
from app.store.equipment_types import get_equipment_type
from app.store.intervals import list_items_alike
from app.store.items import ItemRow
from app.store.reading_histories import list_reading_histories
from app.web.fields import Form
from app.web.interval_evidence import COUNTING, YEARS, YEARS_USUAL, Evidence, list_evidence_rows
from app.web.interval_fields import new_decision, show_risk
from app.web.intervals import show_usual_months
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()
GROUP = "/evidence/{customer_id}/{equipment_type_id}/{environment}"


@routes.get(GROUP)
def show_group(
    request: Request,
    session: Reading,
    desk: TheDesk,
    asked: Asked,
    customer_id: int,
    equipment_type_id: int,
    environment: str,
) -> Response:
    rows = _rows(session, asked, customer_id, equipment_type_id, environment)
    form = Form(dict(asked.values))
    if "reason" not in asked.values:
        form.values |= {f"item-{row.id}": str(row.version) for row in rows}
    context = _context(session, desk, form, rows, customer_id, equipment_type_id, environment)
    return page(request, "intervals/group.html", form=form, doubts=(), **context)


@routes.get(GROUP + "/parts/steps")
def part_group_steps(
    request: Request, session: Reading, asked: Asked, customer_id: int, equipment_type_id: int, environment: str
) -> Response:
    facts = get_equipment_type(session, equipment_type_id).facts
    return page(request, "intervals/_steps.html", **show_risk(asked, facts, _place(environment)))


@routes.post(GROUP)
def save_group(
    request: Request,
    deed: Doing,
    desk: TheDesk,
    sent: Sent,
    customer_id: int,
    equipment_type_id: int,
    environment: str,
) -> Response:
    rows = _rows(deed.session, sent, customer_id, equipment_type_id, environment)
    # Only items of this group: a form can name none of another customer's.
    ticked = {row.id: _version(sent, row) for row in rows if sent.value(f"item-{row.id}")}
    chosen = [row for row in rows if row.id in ticked]
    found = _evidence_for(deed.session, desk, sent, customer_id, equipment_type_id, environment)
    doubts: tuple[str, ...] = ()
    try:
        decision = new_decision(sent, found.sentence if found else "")
        sent.done()
        doubts = _doubts(deed.session, chosen, decision, found)
        if unseen := check_doubts(doubts, sent.tick("all_the_same")):
            raise Mistakes(unseen)
        decide_intervals(deed, ticked, decision)
    except Mistakes as wrong:
        context = _context(deed.session, desk, sent, rows, customer_id, equipment_type_id, environment)
        raise ask_again(request, "intervals/group.html", sent, wrong, **context | {"doubts": doubts}) from wrong
    narrowed = f"&premises={sent.value('premises')}" if sent.whole("premises", 1, 2**31) else ""
    return go(f"/evidence/{customer_id}/{equipment_type_id}/{environment}?decided={len(ticked)}{narrowed}#items")


def _rows(session: Session, form: Form, customer_id: int, equipment_type_id: int, environment: str) -> list[ItemRow]:
    premises_id = form.whole("premises", 1, 2**31)
    return list_items_alike(session, customer_id, equipment_type_id, _place(environment), premises_id)


def _place(environment: str) -> Environment:
    """Raises Missing for a word that is none."""
    found = next((each for each in Environment if each == environment), None)
    if found is None:
        raise Missing("kind of place")
    return found


def _version(sent: Form, row: ItemRow) -> int | None:
    text = sent.value(f"item-{row.id}")
    return int(text) if text.isdecimal() and len(text) < 10 else None


def _years(form: Form) -> int:
    years = form.value("years")
    return int(years) if years in {str(each) for each in YEARS} else YEARS_USUAL


def _evidence_for(
    session: Session, desk: TheDesk, form: Form, customer_id: int, equipment_type_id: int, environment: str
) -> Evidence | None:
    premises_id = form.whole("premises", 1, 2**31)
    group = (customer_id, equipment_type_id, environment, premises_id)
    return next(iter(list_evidence_rows(session, desk.today, _years(form), *group)), None)


def _doubts(
    session: Session, rows: list[ItemRow], decision: IntervalDecision, found: Evidence | None
) -> tuple[str, ...]:
    """What speaks against it for any of the items; said once where it is the same for all."""
    by_id = {row.id: row for row in rows}
    then = {row.id: decision.months or show_usual_months(row) for row in rows}
    due = {row.id: next_due(row.last_tested_on, then[row.id]) if row.last_tested_on else None for row in rows}
    warned = list_trend_warnings(list_reading_histories(session, by_id), due.__getitem__)
    doubts = [
        doubt
        for row in rows
        for doubt in list_doubts(
            interval_months_of(row),
            then[row.id],
            found.rate if found else None,
            [f"{row.number} {row.description}: {warning.short}" for warning in warned.get(row.id, [])],
        )
    ]
    return tuple(dict.fromkeys(doubts))


def _context(
    session: Session,
    desk: TheDesk,
    form: Form,
    rows: list[ItemRow],
    customer_id: int,
    equipment_type_id: int,
    environment: str,
) -> dict[str, Any]:
    kind, place = get_equipment_type(session, equipment_type_id), _place(environment)
    everywhere = list_items_alike(session, customer_id, equipment_type_id, environment)
    return {
        "customer": get_customer(session, customer_id),
        "kind": kind,
        "environment": place,
        "premises": sorted({(row.premises_id, row.premises.name) for row in everywhere}, key=lambda each: each[1]),
        "premises_id": form.value("premises"),
        "rows": [
            (
                row,
                describe_months(interval_months_of(row)),
                row.interval_reason if row.interval_months else "as usual",
            )
            for row in rows
        ],
        "evidence": _evidence_for(session, desk, form, customer_id, equipment_type_id, environment),
        "years": _years(form),
        "decided": form.whole("decided", 1, 100_000),
        "counting": COUNTING,
        "duty": DUTY,
        "back": f"/evidence/{customer_id}/{equipment_type_id}/{environment}",
    } | show_risk(form, kind.facts, place)
