"""How often like items in like places are tested: one decision with one reason for all that are ticked."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.intervals import decide_intervals
from app.actions.items import describe_type_reason, interval_months_of
from app.rules.equipment import Environment
from app.rules.interval_decisions import DUTY, YEARS_USUAL, describe_months
from app.rules.verdicts import Mistakes
from app.store.customers import get_customer
from app.store.database import Missing
from app.store.equipment_types import get_equipment_type
from app.store.evidence import find_known_evidence
from app.store.intervals import list_items_alike
from app.store.items import ItemRow
from app.web.fields import Form
from app.web.interval_evidence import COUNTING, YEARS, show_doubts
from app.web.interval_fields import new_decision, show_risk
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
    try:
        decide_intervals(deed, ticked, new_decision(sent, _years(sent)), sent.whole("premises", 1, 2**31))
    except Mistakes as wrong:
        context = _context(deed.session, desk, sent, rows, customer_id, equipment_type_id, environment)
        raise ask_again(
            request, "intervals/group.html", sent, wrong, **context | {"doubts": show_doubts(wrong)}
        ) from wrong
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
    group = (customer_id, equipment_type_id, environment, form.whole("premises", 1, 2**31))
    evidence = find_known_evidence(session, desk.today, _years(form), *group)
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
                row.interval_reason if row.interval_months else describe_type_reason(row) or "as suggested",
            )
            for row in rows
        ],
        "evidence": evidence,
        "years": _years(form),
        "decided": form.whole("decided", 1, 100_000),
        "counting": COUNTING,
        "duty": DUTY,
        "back": f"/evidence/{customer_id}/{equipment_type_id}/{environment}",
    } | show_risk(form, kind.facts, place)
