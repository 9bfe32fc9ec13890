"""Booking proposals: choose premises and weeks, see what is proposed and why, change it by hand, book it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session
from starlette.background import BackgroundTask

from app.actions.proposals import (
    SECONDS_MOST,
    WEEKS_MOST,
    Placing,
    ask_again_for_proposals,
    ask_for_proposals,
    book_proposals,
    place_by_hand,
    work_out_proposals,
)
from app.rules.booking_conflicts import Conflict, Planned, list_conflicts
from app.rules.booking_loads import total_loads
from app.rules.due_work import total_due_estimate
from app.rules.paces import describe_duration
from app.rules.proposals import Question, list_days
from app.rules.solved_proposals import has_solver
from app.rules.verdicts import Mistakes
from app.store.due_work import list_due_places
from app.store.instruments import list_instruments
from app.store.paces import facts_of_paces
from app.store.people import list_technicians
from app.store.planning_settings import get_planning_settings
from app.store.premises import get_premises
from app.store.proposal_facts import (
    facts_of_next_visits,
    facts_of_run,
    facts_of_skills,
    list_premises_with_visit,
)
from app.store.proposals import (
    ProposalRow,
    RunState,
    facts_of_plans,
    get_proposal,
    get_proposal_run,
    list_proposal_runs,
)
from app.store.working_times import facts_of_booking_rules
from app.web.fields import Form
from app.web.filters import show_day
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()
WEEKS = [(number, f"{number} week{'s' if number > 1 else ''}") for number in (1, 2, 3, 4, 6, 8)]
WEEKS_USUAL, EARLY_MOST = 4, 366
PLACE = "place-"
#: A question that waits longer was broken off, by a crash or by the end of the server.
GIVEN_UP = timedelta(seconds=3 * SECONDS_MOST)


@routes.get("/proposals")
def show_runs(request: Request, session: Reading) -> Response:
    return page(request, "proposals/list.html", runs=list_proposal_runs(session))


@routes.get("/proposals/new")
def new_proposals(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    ticked = _ticked(asked)
    return page(request, "proposals/new.html", form=asked, **_asking(session, desk, asked, ticked or None))


@routes.post("/proposals")
def save_new_proposals(request: Request, deed: Doing, desk: TheDesk, sent: Sent) -> Response:
    try:
        begins_on = sent.day("begins_on", needed="Give the first day.") or date.min
        weeks, early = sent.whole("weeks", 1, WEEKS_MOST), sent.whole("early", 0, EARLY_MOST)
        sent.done()
        early = get_planning_settings(deed.session).early_days if early is None else early
        run = ask_for_proposals(deed, _ticked(sent), begins_on, weeks or WEEKS_USUAL, early)
    except Mistakes as wrong:
        context = _asking(deed.session, desk, sent, _ticked(sent))
        raise ask_again(request, "proposals/new.html", sent, wrong, **context) from wrong
    return _work_out(desk, run.id)


@routes.get("/proposals/{run_id}")
def show_proposals(request: Request, session: Reading, desk: TheDesk, run_id: int) -> Response:
    return page(request, "proposals/show.html", form=Form(), **_answer(session, desk, run_id))


@routes.get("/proposals/{run_id}/parts/answer")
def part_answer(request: Request, session: Reading, desk: TheDesk, run_id: int) -> Response:
    return page(request, "proposals/_answer.html", form=Form(), **_answer(session, desk, run_id))


@routes.post("/proposals/{run_id}/again")
def save_asked_again(deed: Doing, desk: TheDesk, run_id: int) -> Response:
    """Have it worked out again by the facts of now."""
    ask_again_for_proposals(deed, run_id)
    return _work_out(desk, run_id)


@routes.post("/proposals/{run_id}/book")
def save_bookings(request: Request, deed: Doing, desk: TheDesk, sent: Sent, run_id: int) -> Response:
    run = get_proposal_run(deed.session, run_id)
    every = sent.value("which") == "all"
    wanted = [row.id for row in run.proposals if every or sent.tick(f"proposal-{row.id}")]
    try:
        book_proposals(deed, run_id, wanted)
    except Mistakes as wrong:
        raise ask_again(request, "proposals/show.html", sent, wrong, **_answer(deed.session, desk, run_id)) from wrong
    return go(f"/proposals/{run_id}")


@routes.get("/proposals/{run_id}/{proposal_id}/edit")
def edit_proposal(request: Request, session: Reading, run_id: int, proposal_id: int) -> Response:
    row = get_proposal(session, run_id, proposal_id)
    form = Form.showing(
        day=row.day,
        starts_at=row.starts_at.strftime("%H:%M") if row.starts_at else "",
        technician_id=row.technician_id,
        instrument_id=row.instrument_id,
        version=row.version,
    )
    return page(request, "proposals/edit.html", form=form, **_placing(session, row))


@routes.post("/proposals/{run_id}/{proposal_id}")
def save_proposal(request: Request, deed: Doing, sent: Sent, run_id: int, proposal_id: int) -> Response:
    row = get_proposal(deed.session, run_id, proposal_id)
    try:
        day, starts_at = sent.day("day", needed="Give the day."), sent.clock("starts_at")
        if starts_at is None:
            sent.blame("starts_at", "Give the time at which it begins.")
        technician_id = sent.needed_whole("technician_id", "Choose who goes.")
        instrument_id = sent.needed_whole("instrument_id", "Choose the instrument.")
        choices = _placing(deed.session, row)
        for name, number in (("technician", technician_id), ("instrument", instrument_id)):
            if number and number not in {each for each, _ in choices[f"{name}s"]}:
                sent.blame(f"{name}_id", "Choose one of these.")
        sent.done()
        assert day is not None and starts_at is not None
        place_by_hand(deed, run_id, row.id, Placing(technician_id, instrument_id, day, starts_at), sent.version())
    except Mistakes as wrong:
        raise ask_again(request, "proposals/edit.html", sent, wrong, **_placing(deed.session, row)) from wrong
    return go(f"/proposals/{run_id}#proposal-{row.id}")


def _work_out(desk: TheDesk, run_id: int) -> Response:
    """Go to the page of the run; it is worked out after this answer has left."""
    answer = go(f"/proposals/{run_id}")
    answer.background = BackgroundTask(work_out_proposals, desk, run_id)
    return answer


def _ticked(form: Form) -> list[int]:
    places = (name.removeprefix(PLACE) for name in form.names(PLACE) if form.tick(name))
    return [int(place) for place in places if place.isdecimal() and len(place) < 10]


def _asking(session: Session, desk: TheDesk, form: Form, ticked: list[int] | None) -> dict[str, Any]:
    """What the office chooses from. ticked None: everything that has no visit booked yet."""
    tomorrow = desk.today + timedelta(days=1)
    begins_on = max(form.day("begins_on") or tomorrow, tomorrow)
    weeks = form.whole("weeks", 1, WEEKS_MOST) or WEEKS_USUAL
    early = form.whole("early", 0, EARLY_MOST)
    early = get_planning_settings(session).early_days if early is None else early
    until = list_days(begins_on, weeks)[-1]
    places = list_due_places(session, until)
    visits = facts_of_next_visits(session, [place.premises_id for place in places], until, early, desk.today)
    paces = facts_of_paces(session)
    estimates = {place_id: total_due_estimate(visit, paces) for place_id, visit in visits.items()}
    booked = list_premises_with_visit(session, visits)
    rows = [(place, visits[place.premises_id], booked.get(place.premises_id)) for place in places]
    rows.sort(key=lambda row: (row[1].first_due_on, row[0].premises_id))
    return {
        "rows": rows,
        "estimates": estimates,
        "skills": facts_of_skills(session, {place_id: visit.last_due_on for place_id, visit in visits.items()}),
        "ticked": {place.premises_id for place, _, visit in rows if visit is None} if ticked is None else set(ticked),
        "begins_on": begins_on,
        "weeks": weeks,
        "early": early,
        "until": until,
        "spans": WEEKS,
        "today": desk.today,
        "sentence": max(estimates.values(), key=lambda each: each.items).sentence if estimates else "",
        "solver": has_solver(),
    }


def _answer(session: Session, desk: TheDesk, run_id: int) -> dict[str, Any]:
    run = get_proposal_run(session, run_id)
    broken_off = desk.now - run.asked_at > GIVEN_UP
    context: dict[str, Any] = {"run": run, "waiting": run.state == RunState.WAITING and not broken_off}
    context["failed"] = run.state != RunState.ANSWERED and not context["waiting"]
    context["until"] = list_days(run.begins_on, run.weeks)[-1]
    if run.state != RunState.ANSWERED:
        return context
    waiting = [row for row in run.proposals if row.open]
    question, plans = facts_of_run(session, run, desk.today), facts_of_plans(waiting)
    taken = list_premises_with_visit(session, [row.premises_id for row in waiting])
    placed = sorted((row for row in run.proposals if row.day is not None), key=_order)
    loads = total_loads(question, plans)
    return context | {
        "days": [(day, list(rows)) for day, rows in groupby(placed, key=lambda row: row.day)],
        "left_out": [row for row in run.proposals if row.day is None],
        "open": len(waiting),
        "booked": sum(row.visit_id is not None for row in run.proposals),
        "on_site": describe_duration(sum(row.minutes for row in placed)),
        "travel": describe_duration(sum(row.travel_minutes for row in placed)),
        "conflicts": _conflicts(question, plans),
        "taken": taken,
        "loads": {name: weeks for name, weeks in loads.items() if any(week.hours for week in weeks)},
        "mondays": [week.monday for week in next(iter(loads.values()), ())],
        "pace": facts_of_booking_rules(session).pace,
        "stale": run.begins_on <= desk.today,
    }


def _conflicts(question: Question, plans: Sequence[Planned]) -> dict[int, list[Conflict]]:
    """What stands against each visit; where it takes several days, with the day that it is about."""
    found: dict[int, list[Conflict]] = {}
    many = Counter(plan.key for plan in plans)
    for plan in plans:
        told = list_conflicts(question, plan, plans)
        if many[plan.key] > 1:
            told = tuple(replace(each, sentence=f"{show_day(plan.day)}: {each.sentence}") for each in told)
        found.setdefault(plan.key, []).extend(told)
    return found


def _order(row: ProposalRow) -> tuple[Any, ...]:
    return row.day, row.technician.name if row.technician else "", row.starts_at, row.id


def _placing(session: Session, row: ProposalRow) -> dict[str, Any]:
    return {
        "row": row,
        "premises": get_premises(session, row.premises_id),
        "minutes": describe_duration(row.minutes) if row.minutes else "",
        "technicians": [(each.id, each.name) for each in list_technicians(session)],
        "instruments": [(each.id, each.name) for each in list_instruments(session) if each.active],
    }
