"""One item on the visit sheet: its checks with their limits, the verdict as it is typed, saving, and why not tested."""

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse
from sqlalchemy.orm import Session

from app.actions.readings import leave_item, record_item
from app.actions.tested_items import REMEDY_USUAL
from app.rules.advice import list_advice
from app.rules.fuses import FUSES_A
from app.rules.judging import Judging, describe_own_gap
from app.rules.remedies import Remedy, describe_remedy, list_changes, parse_remedy
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import NotTested, VisitState
from app.rules.visual_points import list_points_to_mark
from app.store.items import list_open_defects
from app.store.photos import list_photos
from app.store.readings import (
    VisitItemRow,
    facts_for_judging_item,
    find_visit_item,
    get_visit_item,
    list_item_history,
    list_visit_items,
)
from app.web.answers import show_answers
from app.web.entry_differences import list_differences
from app.web.entry_fields import new_entries, show_entries, show_last
from app.web.fields import Form
from app.web.keyed_writes import wants_json
from app.web.kit import AskAgain, Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, done, go, page
from app.web.sheet_steps import USUAL, list_sheet_steps
from app.web.sheets import list_groups, show_next, show_row
from app.web.trend_warnings import list_field_warnings, list_item_warnings, show_visit_horizon
from app.web.visit_instruments import show_fitness_of

routes = APIRouter()
SAVED_MEANWHILE = "Somebody else saved this item meanwhile. Choose which of the two stands."


@routes.get("/visits/{visit_id}/items/{item_id}")
def show_item(
    request: Request, desk: TheDesk, person: ThePerson, session: Reading, asked: Asked, visit_id: int, item_id: int
) -> Response:
    row = get_visit_item(session, visit_id, item_id)
    after = asked.whole("after", 1, 2**31)
    saved = find_visit_item(session, visit_id, after) if after and after != item_id else None
    if row.visit.state != VisitState.UNDER_WAY:
        judging = facts_for_judging_item(row, row.own_checks, row.after_repair)
        return page(
            request,
            "readings/recorded.html",
            visit=row.visit,
            row=row,
            rulebook=judging.rulebook,
            own_gap=describe_own_gap(row.facts, judging),
            photos=list_photos(session, [row.id]).get(row.id, []),
        )
    form = Form(show_saved_values(row))
    if asked.value("again"):
        # Another sequence is asked for while somebody is filling in this one: what is typed stays.
        form = Form(dict(asked.values) | {"version": form.value("version")})
    return page(
        request,
        "readings/show.html",
        form=form,
        after=saved,
        stale=False,
        fitness=show_fitness_of(session, row.visit, person, desk.today),
        **show_sheet_context(session, row, form),
    )


@routes.get("/visits/{visit_id}/items/{item_id}/parts/verdict")
def part_verdict(request: Request, session: Reading, asked: Asked, visit_id: int, item_id: int) -> Response:
    """What the rules say of the form as it stands: a line for each field, and the verdict so far."""
    row = get_visit_item(session, visit_id, item_id)
    facts, judging = row.item.facts, _judging_of(row, asked)
    steps, answers = list_sheet_steps(facts, judging), show_answers(asked, facts, judging)
    return page(request, "readings/_answers.html", steps=steps, answers=answers)


@routes.post("/visits/{visit_id}/items/{item_id}")
def save_item(request: Request, deed: Doing, sent: Sent, visit_id: int, item_id: int) -> Response:
    """Save everything on the sheet of one item, then stay or go on to the next item that is open."""
    row = get_visit_item(deed.session, visit_id, item_id)
    forward, version = sent.value("then") == "next", row.version
    try:
        entries = new_entries(sent, row.item.facts, _judging_of(row, sent))
        note, remedy = sent.lines("note"), _remedy(sent)
        sent.done()
        if not entries and not row.readings and not note:
            if forward:
                return go(show_next(deed.session, row))
            raise Mistakes({"": "Nothing is entered yet, so there is nothing to save."})
        record_item(
            deed,
            visit_id,
            item_id,
            entries,
            note=note,
            remedy=remedy,
            after_repair=sent.tick("after_repair"),
            version=sent.version(),
        )
    except Mistakes as wrong:
        context = show_sheet_context(deed.session, row, sent)
        raise ask_again(request, "readings/show.html", sent, wrong, after=None, stale=False, **context) from wrong
    except Refused as refused:
        if row.visit.state == VisitState.UNDER_WAY and sent.version() not in (None, version):
            raise _both_shown(request, deed.session, row, sent) from refused
        if row.visit.state == VisitState.UNDER_WAY and not wants_json(request):
            # What was typed stays in the form, so that it can be saved once the cause is gone.
            sent.blame("", refused.sentence)
            raise _shown_again(request, deed.session, row, sent) from refused
        raise
    here = f"/visits/{visit_id}/items/{item_id}"
    there = f"{show_next(deed.session, row)}?after={item_id}" if forward else here
    return done(request, deed, there, **show_row(row))


@routes.post("/visits/{visit_id}/items/{item_id}/leave")
def save_leave(request: Request, deed: Doing, sent: Sent, visit_id: int, item_id: int) -> Response:
    """Record why an item was not tested, and go on to the next item that is open."""
    row = get_visit_item(deed.session, visit_id, item_id)
    version = row.version
    try:
        reason, note = sent.choice("reason", NotTested), sent.lines("not_tested_note", most=500)
        sent.done()
        leave_item(deed, visit_id, item_id, reason, note, sent.version())
    except Mistakes as wrong:
        form = Form(show_saved_values(row) | sent.values)
        context = show_sheet_context(deed.session, row, form)
        raise ask_again(request, "readings/show.html", form, wrong, after=None, stale=False, **context) from wrong
    except Refused as refused:
        if row.visit.state == VisitState.UNDER_WAY and sent.version() not in (None, version):
            raise _both_shown(request, deed.session, row, Form(show_saved_values(row) | sent.values)) from refused
        raise
    return done(request, deed, f"{show_next(deed.session, row)}?after={item_id}", **show_row(row))


def show_screen(session: Session, row: VisitItemRow) -> dict[str, Any]:
    """What the screen of one item shows, without the list of the others: for a tablet that keeps it."""
    form = Form(show_saved_values(row))
    return {"form": form, "after": None, "stale": False, **show_sheet_context(session, row, form, others=[])}


def _judging_of(row: VisitItemRow, form: Form) -> Judging:
    """What the item is judged by now: by its own sequence as the register has it, or as after a repair where ticked."""
    return facts_for_judging_item(row, row.item.own_checks, form.tick("after_repair"))


def show_saved_values(row: VisitItemRow) -> dict[str, str]:
    """What the form shows for what is saved; the test lead of the visit where no reading says what was subtracted."""
    judging = facts_for_judging_item(row, row.item.own_checks, row.after_repair)
    values = {"lead": "" if judging.lead_ohms is None else f"{judging.lead_ohms:f}"}
    values |= show_entries(row.readings, row.item.facts, judging)
    kept = row.defects[0].remedy if row.defects else ""
    remedy, more = parse_remedy("" if kept == REMEDY_USUAL else kept)
    return values | {
        "note": row.note,
        "after_repair": "yes" if row.after_repair else "",
        "remedy": remedy.value if remedy else "",
        "remedy_more": more,
        "version": str(row.version),
    }


def show_sheet_context(
    session: Session, row: VisitItemRow, form: Form, others: list[VisitItemRow] | None = None
) -> dict[str, Any]:
    """Everything that the page of one item on the sheet needs beside its form."""
    visit, item = row.visit, row.item
    facts, judging = item.facts, _judging_of(row, form)
    rulebook = judging.rulebook
    rows = list_visit_items(session, visit.id) if others is None else others
    before = next((past for past in list_item_history(session, item.id) if past.visit_id != visit.id), None)
    steps = list_sheet_steps(facts, judging)
    warnings = list_item_warnings(session, item, show_visit_horizon(row))
    return {
        "visit": visit,
        "row": row,
        "item": item,
        "facts": facts,
        "rulebook": rulebook,
        "steps": steps,
        "filled": [name for name, value in form.values.items() if value],
        "points": list_points_to_mark(facts),
        "answers": show_answers(form, facts, judging),
        "trends": list_field_warnings(warnings, steps),
        "advice": list_advice(facts),
        "wants": next(
            (field.wants for step in steps for field in step.fields if field.wants and field.check not in USUAL), ""
        ),
        "last": show_last(before.readings, facts, judging) if before else {},
        "judging": judging,
        "own_gap": describe_own_gap(facts, judging),
        "last_on": before.tested_on if before else None,
        "open_defects": [defect for defect in list_open_defects(session, item.id) if defect.visit_item_id != row.id],
        "facts_changed": bool(row.readings) and (row.facts, row.own_checks) != (facts, item.own_checks),
        "groups": list_groups(rows),
        "done": sum(each.done for each in rows),
        "total": len(rows),
        "remedies": [(remedy.value, remedy.word.capitalize()) for remedy in Remedy],
        "reasons": list(NotTested),
        "changes": list_changes(facts),
        "fuses": FUSES_A,
        "photos": list_photos(session, [row.id]).get(row.id, []),
        "differences": [],
    }


def _remedy(sent: Form) -> str:
    chosen = next((remedy for remedy in Remedy if remedy == sent.value("remedy")), None)
    more = sent.lines("remedy_more", most=500)
    return describe_remedy(chosen, more)


def _both_shown(request: Request, session: Session, row: VisitItemRow, sent: Form) -> AskAgain:
    """The form with what was typed beside what somebody else saved meanwhile; saving again is then a clear choice."""
    if wants_json(request):
        told = {"message": SAVED_MEANWHILE, "theirs": show_saved_values(row), "saved": show_row(row)}
        return AskAgain(JSONResponse(told, status_code=409))
    theirs = Form(dict(sent.values) | {"version": str(row.version)})
    context = show_sheet_context(session, row, theirs)
    saved = show_saved_values(row) | {"reason": row.not_tested, "not_tested_note": row.not_tested_note}
    differences = list_differences(saved, sent.values, context["steps"], context["points"])
    return _refused_with(request, theirs, context | {"differences": differences, "stale": True})


def _shown_again(request: Request, session: Session, row: VisitItemRow, form: Form) -> AskAgain:
    """The form as a refusal: 409, with everything that was typed."""
    return _refused_with(request, form, show_sheet_context(session, row, form) | {"stale": False})


def _refused_with(request: Request, form: Form, context: dict[str, Any]) -> AskAgain:
    return AskAgain(page(request, "readings/show.html", status=409, form=form, after=None, **context))
