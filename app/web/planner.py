"""The planner: a week or a month by technician, and the pool of what is to be booked.

Moves are plain forms; script adds dragging and the arrow keys (static/js/planner.js).
"""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.planners import (
    NOTE_MOST,
    Place,
    book_from_pool,
    drop_wanted_visit,
    move_visit,
    unbook_visit,
    want_visit,
)
from app.rules.bookings import Held
from app.rules.due_work import suggest_visits, total_due_estimate
from app.rules.held_days import DAYS_MOST
from app.rules.paces import MINUTES_LEAST, MINUTES_MOST, describe_duration, total_estimate
from app.rules.planners import DayWords, Hours, Span, View, describe_day, list_shown_days
from app.rules.verdicts import Mistakes
from app.rules.visits import VisitState
from app.store.due_work import list_due_places
from app.store.instruments import list_instruments
from app.store.paces import count_kinds, facts_of_paces
from app.store.people import PersonRow, list_people, list_technicians
from app.store.planners import facts_of_hours, list_planned_visits
from app.store.planning_settings import get_planning_settings
from app.store.premises import get_premises, list_premises
from app.store.visits import VisitRow, get_visit, list_held
from app.store.wanted_visits import get_wanted_visit, list_wanted_visits
from app.web.booking_fields import show_served
from app.web.fields import Form
from app.web.kit import AskAgain, Asked, Doing, Reading, Sent, TheDesk, ask_again, done, go, page

routes = APIRouter()
POOL_MOST = 40


@dataclass(frozen=True)
class PoolEntry:
    """Something to be booked: a visit that is wanted, or what falls due at premises without a visit."""

    premises_id: int
    premises: str
    customer: str
    wanted_id: int | None
    wanted_on: date | None
    late: bool
    items: int
    minutes: int
    note: str = ""
    due_until: date | None = None

    @property
    def duration(self) -> str:
        return describe_duration(self.minutes)

    @property
    def query(self) -> str:
        told = {"premises": self.premises_id, "wanted": self.wanted_id, "due": self.due_until}
        return urlencode({name: value for name, value in told.items() if value is not None})


@routes.get("/planner")
def show_planner(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    return page(request, "planner/show.html", form=Form(), **_page_context(session, desk.today, asked))


@routes.get("/planner/parts/board")
def part_board(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """The board and the pool anew, after something on it was moved."""
    context = _board(session, desk.today, asked) | {"pool": _pool(session, desk.today, asked)}
    return page(request, "planner/_board.html", **context)


@routes.get("/planner/visits/{visit_id}/move")
def edit_planned_visit(request: Request, session: Reading, asked: Asked, visit_id: int) -> Response:
    """The form that moves a visit, without script or where a drop was refused."""
    visit = get_visit(session, visit_id)
    if visit.state != VisitState.BOOKED:
        return go(f"/visits/{visit.id}")
    form = Form.showing(
        day=asked.day("day") or visit.booked_on,
        technician_id=asked.whole("technician_id", 1, 2**31 - 1) or visit.technician_id,
        instrument_id=visit.instrument_id,
        booked_time=visit.booked_time.strftime("%H:%M") if visit.booked_time else "",
        minutes=visit.minutes if visit.minutes_by_hand else "",
        days=visit.days_asked,
        version=visit.version,
        back=asked.text("back"),
    )
    return page(request, "planner/move.html", form=form, **_move_context(session, visit))


@routes.post("/planner/visits/{visit_id}/move")
def save_planned_visit(request: Request, deed: Doing, sent: Sent, visit_id: int) -> Response:
    visit = get_visit(deed.session, visit_id)
    try:
        place = _place(sent)
        moved = move_visit(deed, visit_id, place, sent.version())
    except Mistakes as wrong:
        raise _refused(request, deed.session, sent, wrong, "planner/move.html", **_move_context(
            deed.session, visit)) from wrong  # fmt: skip
    return done(request, deed, _back(sent, moved.booked_on), visit=moved.id)


@routes.post("/planner/visits/{visit_id}/pool")
def save_unbooking(request: Request, deed: Doing, sent: Sent, visit_id: int) -> Response:
    """Take a booked visit off the planner, back into the pool."""
    day = get_visit(deed.session, visit_id).booked_on
    unbook_visit(deed, visit_id, sent.version())
    return done(request, deed, _back(sent, day))


@routes.get("/planner/book")
def new_from_pool(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    premises_id = asked.whole("premises", 1, 2**31 - 1)
    if premises_id is None:
        return go("/planner")
    wanted_id = asked.whole("wanted", 1, 2**31 - 1)
    wanted = get_wanted_visit(session, wanted_id) if wanted_id else None
    day = asked.day("day") or max(desk.today, (wanted.wanted_on if wanted else None) or desk.today)
    form = Form.showing(
        premises_id=premises_id,
        wanted_id=wanted_id,
        day=day,
        technician_id=asked.whole("technician_id", 1, 2**31 - 1) or (wanted.technician_id if wanted else None),
        minutes=wanted.minutes if wanted else None,
        due_until=asked.day("due") or (wanted.due_until if wanted else None),
        back=asked.text("back"),
    )
    return page(request, "planner/book.html", form=form, **_book_context(session, desk.today, form, premises_id))


@routes.post("/planner/book")
def save_from_pool(request: Request, deed: Doing, sent: Sent) -> Response:
    premises_id = sent.needed_whole("premises_id", "Choose the premises.")
    get_premises(deed.session, premises_id)
    try:
        wanted_id = sent.whole("wanted_id", 1, 2**31 - 1)
        visit = book_from_pool(deed, premises_id, _place(sent, sent.day("due_until")), wanted_id)
    except Mistakes as wrong:
        raise _refused(request, deed.session, sent, wrong, "planner/book.html", **_book_context(
            deed.session, deed.today, sent, premises_id)) from wrong  # fmt: skip
    return done(request, deed, _back(sent, visit.booked_on), visit=visit.id)


@routes.post("/planner/wanted")
def save_wanted(request: Request, deed: Doing, sent: Sent) -> Response:
    """Put a visit into the pool."""
    try:
        premises_id = sent.needed_whole("premises_id", "Choose the premises.")
        wanted_on = sent.day("wanted_on")
        minutes = sent.whole("minutes", MINUTES_LEAST, MINUTES_MOST)
        note = sent.lines("note", NOTE_MOST)
        sent.done()
        want_visit(deed, premises_id, wanted_on, minutes, note)
    except Mistakes as wrong:
        context = _page_context(deed.session, deed.today, _shown(sent))
        raise ask_again(request, "planner/show.html", sent, wrong, **context) from wrong
    return go(_back(sent, wanted_on or deed.today))


@routes.get("/planner/wanted/{wanted_id}/drop")
def edit_wanted(request: Request, session: Reading, wanted_id: int) -> Response:
    return page(request, "planner/drop.html", form=Form(), wanted=get_wanted_visit(session, wanted_id))


@routes.post("/planner/wanted/{wanted_id}/drop")
def remove_wanted(request: Request, deed: Doing, sent: Sent, wanted_id: int) -> Response:
    """Take a visit out of the pool, with a reason."""
    try:
        reason = sent.text("reason", most=500)
        sent.done()
        drop_wanted_visit(deed, wanted_id, reason)
    except Mistakes as wrong:
        wanted = get_wanted_visit(deed.session, wanted_id)
        raise ask_again(request, "planner/drop.html", sent, wrong, wanted=wanted) from wrong
    return go("/planner")


def _place(sent: Form, due_until: date | None = None) -> Place:
    day = sent.day("day", needed="Give the day.")
    technician_id = sent.needed_whole("technician_id", "Choose who goes.")
    place = Place(
        day or date.min,
        technician_id,
        sent.clock("booked_time"),
        sent.whole("instrument_id", 1, 2**31 - 1),
        sent.whole("minutes", MINUTES_LEAST, MINUTES_MOST),
        due_until,
        sent.whole("days", 1, DAYS_MOST),
    )
    sent.done()
    return place


def _shown(sent: Form) -> Form:
    """What was asked of the planner on which a form stood."""
    return Form(dict(pair.split("=", 1) for pair in sent.text("back").split("&") if "=" in pair))


def _back(sent: Form, day: date) -> str:
    """The planner as it was shown; the week of a day where the form came from elsewhere."""
    asked = _shown(sent)
    kept = {
        "view": asked.value("view") if asked.value("view") in list(View) else "",
        "day": asked.day("day") or day,
        "technician": asked.whole("technician", 1, 2**31 - 1),
    }
    return f"/planner?{urlencode({name: value for name, value in kept.items() if value})}"


def _refused(
    request: Request, session: Session, sent: Form, wrong: Mistakes, template: str, **context: Any
) -> AskAgain:
    """The form back. What is said of a booking's days stands beside the fields of the planner's own names."""
    said = dict(wrong.messages)
    for name, here in (("booked_on", "day"), ("days_asked", "days")):
        if name in said:
            said[here] = said.pop(name)
    return ask_again(request, template, sent, Mistakes(said), **context)


def _choices(session: Session) -> dict[str, Any]:
    return {
        "technicians": [(row.id, row.name) for row in list_technicians(session)],
        "instruments": [(row.id, row.name) for row in list_instruments(session) if row.active],
    }


def _move_context(session: Session, visit: VisitRow) -> dict[str, Any]:
    return {"visit": visit, **_choices(session)}


def _book_context(session: Session, today: date, form: Form, premises_id: int) -> dict[str, Any]:
    served = show_served(session, today, form, premises_id)
    return {"premises": get_premises(session, premises_id), "served": served, **_choices(session)}


def _page_context(session: Session, today: date, asked: Form) -> dict[str, Any]:
    premises = [(row.id, f"{row.customer.name}, {row.name}") for row in list_premises(session)]
    return _board(session, today, asked) | {"pool": _pool(session, today, asked), "premises": premises}


def _board(session: Session, today: date, asked: Form) -> dict[str, Any]:
    view = View.MONTH if asked.value("view") == View.MONTH else View.WEEK
    span = list_shown_days(view, asked.day("day") or today)
    technician_id = asked.whole("technician", 1, 2**31 - 1)
    everybody = list_technicians(session)
    visits = list_planned_visits(session, span.first, span.last)
    sent_out = {visit.technician_id for visit in visits}
    known = {row.id for row in everybody}
    people = everybody + [row for row in list_people(session) if row.id in sent_out - known]
    shown = [row for row in people if technician_id in (None, row.id)]
    days = [day for week in span.weeks for day in week]
    hours = facts_of_hours(session, people, days)
    held = list_held(session, span.first, span.last)
    cells: dict[tuple[int, date], list[VisitRow]] = {}
    for visit in visits:
        for each in visit.held:
            cells.setdefault((visit.technician_id, each.day), []).append(visit)
    return {
        "view": view,
        "span": span,
        "today": today,
        "asked_day": asked.day("day") or today,
        "people": people,
        "shown": shown,
        "technician_id": technician_id,
        "cells": cells,
        "words": _words(shown, days, held, hours),
        "loads": _loads(shown, days, held),
        "closed": {day: _closed(day, people, hours) for day in days},
        "kept": _kept(view, asked.day("day") or today, technician_id),
    }


def _words(
    people: list[PersonRow], days: list[date], held: dict[date, list[Held]], hours: dict[tuple[int, date], Hours]
) -> dict[tuple[int, date], DayWords]:
    return {
        (person.id, day): describe_day(held[day], person.id, hours[person.id, day])
        for day in days
        if day in held
        for person in people
    }


def _loads(people: list[PersonRow], days: list[date], held: dict[date, list[Held]]) -> dict[int, int]:
    """The minutes of each person in all the days that are shown."""
    return {
        person.id: sum(each.length for day in days for each in held.get(day, []) if each.technician_id == person.id)
        for person in people
    }


def _closed(day: date, people: list[PersonRow], hours: dict[tuple[int, date], Hours]) -> str:
    """Why nobody works on a day; nothing where somebody does."""
    told = [hours[person.id, day] for person in people]
    if not told or any(each.span is not None and not each.closed for each in told):
        return ""
    return next((each.closed for each in told if each.closed), "") if day.weekday() < 5 else ""


def _kept(view: View, day: date, technician_id: int | None) -> str:
    told = {"view": view.value, "day": day.isoformat(), "technician": technician_id}
    return urlencode({name: value for name, value in told.items() if value})


def _pool(session: Session, today: date, asked: Form) -> list[PoolEntry]:
    """What is to be booked by the end of what is shown: first what is late, then by day, then what has none."""
    view = View.MONTH if asked.value("view") == View.MONTH else View.WEEK
    span: Span = list_shown_days(view, asked.day("day") or today)
    settings = get_planning_settings(session)
    until = max(span.last, today)
    wanted = list_wanted_visits(session, until + timedelta(days=settings.early_days))
    due = list_due_places(session, until + timedelta(days=settings.early_days + settings.late_days))
    waiting = {row.premises_id for row in wanted}
    places = [place for place in due if place.booked_on is None and place.premises_id not in waiting]
    paces = facts_of_paces(session)
    scopes = {row.due_until for row in wanted}
    counts = {
        (premises_id, scope): kinds
        for scope in scopes
        for premises_id, kinds in count_kinds(session, waiting, scope).items()
    }
    found = [
        PoolEntry(
            row.premises_id,
            row.premises.name,
            row.premises.customer.name,
            row.id,
            row.wanted_on,
            row.wanted_on is not None and row.wanted_on < today,
            sum(counts[row.premises_id, row.due_until].values()),
            row.minutes or total_estimate(counts[row.premises_id, row.due_until], paces).minutes,
            row.note,
            row.due_until,
        )
        for row in wanted
    ]
    for place in places:
        visit = suggest_visits(place.groups, today, settings.early_days, settings.late_days, place.waiting)[0]
        if visit.first_due_on > until:
            continue
        found.append(
            PoolEntry(
                place.premises_id,
                place.premises,
                place.customer,
                None,
                visit.first_due_on,
                visit.first_due_on < today,
                visit.items,
                total_due_estimate(visit, paces).minutes,
                due_until=visit.last_due_on,
            )
        )
    found.sort(key=lambda entry: (entry.wanted_on is None, entry.wanted_on or today, entry.premises))
    return found[:POOL_MOST]
