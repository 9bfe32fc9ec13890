"""One item, whole: what it is, which checks it needs and by which limits, and everything that was recorded for it.

From here it is copied, moved, taken out of use and withdrawn.
"""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.items import (
    copy_item,
    describe_type_reason,
    interval_months_of,
    move_item,
    take_out_of_use,
    withdraw_item,
)
from app.rules.checks import Check, Step, describe_alternatives, list_visual_points
from app.rules.equipment import Environment, ItemFacts
from app.rules.intervals import describe_due, judge_due, next_due, suggest_interval
from app.rules.items import ItemState, next_number
from app.rules.judging import describe_own_gap, list_steps
from app.rules.limits import OUTPUT, has_output_point, limit_for
from app.rules.quantities import describe_number
from app.rules.rcds import list_trip_tests
from app.rules.recalls import HitState
from app.rules.rulebooks import RULEBOOKS, Rulebook
from app.rules.verdicts import Mistakes
from app.rules.visits import VisitState
from app.store.items import ItemRow, get_item, list_item_numbers, list_open_defects
from app.store.journal import list_journal
from app.store.judgings import facts_for_judging_on
from app.store.photos import list_photos
from app.store.premises import list_premises
from app.store.readings import ReadingRow, find_visit_item, list_failed_checks, list_item_history
from app.store.recalls import list_recall_hits
from app.store.visits import list_visits
from app.web.facts_fields import list_facts_rows, show_summary
from app.web.fields import Form
from app.web.kit import Doing, Reading, Sent, TheDesk, ask_again, go, page
from app.web.trend_warnings import list_item_warnings, show_item_horizon

routes = APIRouter()
#: States of a recall that whoever looks at the item should know of.
OPEN_RECALLS = (HitState.PROPOSED, HitState.CONFIRMED)


@dataclass(frozen=True)
class NeededCheck:
    """One step of the test sequence as the page shows it: how it is judged, and whether it has to be done."""

    name: str
    limits: tuple[str, ...]
    otherwise: str
    when: str
    energises: bool
    is_visual: bool


@dataclass(frozen=True)
class RecordedCheck:
    """One reading of an earlier visit as the page shows it."""

    name: str
    value: str
    outcome: str
    sentence: str


@routes.get("/items/{item_id}")
def show_item(request: Request, session: Reading, desk: TheDesk, item_id: int) -> Response:
    row = get_item(session, item_id)
    return page(request, "items/show.html", form=Form(), **_whole(session, row, desk.today))


@routes.post("/items/{item_id}/copy")
def save_item_copy(request: Request, deed: Doing, sent: Sent, item_id: int) -> Response:
    row = get_item(deed.session, item_id)
    try:
        number, serial = sent.text("number", 20), sent.text("serial")
        sent.done()
        added = copy_item(deed, item_id, number, serial)
    except Mistakes as wrong:
        raise _again(request, deed.session, row, sent, wrong, deed.today, "copy") from wrong
    return go(f"/items/{added.id}")


@routes.post("/items/{item_id}/move")
def save_item_move(request: Request, deed: Doing, sent: Sent, item_id: int) -> Response:
    row = get_item(deed.session, item_id)
    try:
        location_id = sent.needed_whole("location_id", "Choose where the item is now.")
        sent.done()
        move_item(deed, item_id, location_id)
    except Mistakes as wrong:
        raise _again(request, deed.session, row, sent, wrong, deed.today, "move") from wrong
    return go(f"/items/{item_id}")


@routes.post("/items/{item_id}/out-of-use")
def save_item_out_of_use(request: Request, deed: Doing, sent: Sent, item_id: int) -> Response:
    row = get_item(deed.session, item_id)
    try:
        take_out_of_use(deed, item_id, _reason_from(sent))
    except Mistakes as wrong:
        raise _again(request, deed.session, row, sent, wrong, deed.today, "out-of-use") from wrong
    return go(f"/items/{item_id}")


@routes.post("/items/{item_id}/withdraw")
def save_item_withdrawal(request: Request, deed: Doing, sent: Sent, item_id: int) -> Response:
    row = get_item(deed.session, item_id)
    try:
        withdraw_item(deed, item_id, _reason_from(sent))
    except Mistakes as wrong:
        raise _again(request, deed.session, row, sent, wrong, deed.today, "withdraw") from wrong
    return go(f"/items/{item_id}")


def _reason_from(sent: Form) -> str:
    reason = sent.text("reason", 400, needed="Say why; the register keeps it.")
    sent.done()
    return reason


def _again(
    request: Request, session: Session, row: ItemRow, sent: Form, wrong: Mistakes, today: date, opened: str
) -> Exception:
    whole = _whole(session, row, today) | {"opened": opened}
    return ask_again(request, "items/show.html", sent, wrong, **whole)


def _whole(session: Session, row: ItemRow, today: date) -> dict[str, Any]:
    own = tuple(Check(name) for name in row.own_checks) if row.own_checks is not None else None
    # As at a visit started today, so that whoever prepares one sees what it will be judged by.
    judging = facts_for_judging_on(session, row.customer, today)
    judging = replace(judging, own=own, again=list_failed_checks(session, row))
    rulebook = judging.rulebook
    places = [
        (location.id, f"{premises.name}: {location.name}")
        for premises in list_premises(session, row.customer_id)
        for location in premises.locations
        if location.id != row.location_id
    ]
    titles = {book.id: f"{book.title}, {book.edition}" for book in RULEBOOKS.values()}
    history = [
        (past, [_recorded(reading) for reading in past.readings], titles.get(past.rulebook_id, past.rulebook_id))
        for past in list_item_history(session, row.id)
    ]
    return {
        "item": row,
        "withdrawn": row.state == ItemState.WITHDRAWN,
        "facts": list_facts_rows(row.facts),
        "summary": show_summary(row.facts),
        "checks": [_needed(step, row.facts, rulebook) for step in list_steps(row.facts, judging)],
        "own_gap": describe_own_gap(row.facts, judging),
        "points": list_visual_points(row.facts),
        "judging": judging,
        "interval": _interval_of(row),
        "recalls": [hit for hit in list_recall_hits(session, item_id=row.id) if hit.state in OPEN_RECALLS],
        "warnings": list_item_warnings(session, row, show_item_horizon(row, row.next_due_on, today)),
        "defects": list_open_defects(session, row.id),
        "history": history,
        "photos": list_photos(session, [past.id for past, _, _ in history]),
        "journal": list_journal(session, "item", row.id, limit=30),
        "places": places,
        "sheet": _sheet_of(session, row),
        "next_number": next_number(list_item_numbers(session, row.customer_id)),
        "today": today,
        "opened": "",
    }


def _sheet_of(session: Session, row: ItemRow) -> str:
    """The address of the item's sheet at the visit that is under way, or nothing."""
    for visit in list_visits(session, state=VisitState.UNDER_WAY, premises_id=row.premises_id):
        if find_visit_item(session, visit.id, row.id) is not None:
            return f"/visits/{visit.id}/items/{row.id}"
    return ""


def _needed(step: Step, facts: ItemFacts, rulebook: Rulebook) -> NeededCheck:
    if step.check == Check.RCD_TRIP_TIME and facts.rcd is not None:
        found = []
        for multiple, phase_deg in list_trip_tests(facts.rcd):
            limit = limit_for(step.check, facts, rulebook, multiple=multiple)
            times = f"{describe_number(multiple)} × at {phase_deg}°"
            found.append(f"{times}: {limit.text if limit else 'no limit known'}.")
        limits = tuple(found)
    else:
        points = (
            ("", OUTPUT) if step.check is Check.INSULATION_RESISTANCE and has_output_point(OUTPUT, facts) else ("",)
        )
        found = []
        for point in points:
            limit = limit_for(step.check, facts, rulebook, point=point)
            if limit is not None:
                found.append(f"To the output side: {limit.sentence}" if point else limit.sentence)
        limits = tuple(found)
    return NeededCheck(step.label, limits, _otherwise(step), _when(step), step.energises, step.check is Check.VISUAL)


def _otherwise(step: Step) -> str:
    """How it is judged where there is no limit."""
    if step.check is Check.LOAD:
        return "A person compares it with the rating, which is not noted."
    if step.unit is not None:
        return "No limit in this rulebook: a person decides."
    return "Satisfactory, or a defect"


def _when(step: Step) -> str:
    if step.required:
        return "needed"
    if not step.instead_of:
        return "where it applies"
    return describe_alternatives(step)


def _recorded(row: ReadingRow) -> RecordedCheck:
    parts = [
        Check(row.check).word,
        "" if row.check == Check.VISUAL else row.point,
    ]  # there the sentence names the point
    if row.multiple is not None:
        parts.append(
            f"{describe_number(row.multiple)} ×" + (f" at {row.phase_deg}°" if row.phase_deg is not None else "")
        )
    name = ", ".join(part for part in parts if part)
    working = "" if row.is_plain_pass else row.beside
    return RecordedCheck(name[0].upper() + name[1:], row.measured, row.outcome, working)


def _interval_of(row: ItemRow) -> dict[str, Any]:
    """The interval that holds, where it comes from, and what is suggested."""
    whence = describe_type_reason(row) or "as suggested"
    if row.interval_months is not None:
        whence = f"set for this item: {row.interval_reason}"
    advice, months = suggest_interval(row.facts, Environment(row.premises.environment)), interval_months_of(row)
    counted = next_due(row.last_tested_on, months) if row.last_tested_on else None
    return {
        "months": months,
        "whence": whence.rstrip("."),
        "advice": advice,
        "falls_due": judge_due(advice, row.last_tested_on, row.next_due_on),
        "due_words": describe_due(advice, months),
        # A new interval of an equipment type moves no day that was said before.
        "from_next": row.next_due_on is not None and row.next_due_on != counted,
    }
