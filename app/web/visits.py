"""Visits: the list, booking and changing one, its page with what was found; starting, finishing, cancelling it."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.visits import book_visit, cancel_visit, change_booking, change_method, finish_visit, start_visit
from app.rules.people import Person, Role
from app.rules.verdicts import Mistakes, Verdict
from app.rules.visits import CONDUCTOR_C, LEAD_MOST, Method, VisitState, may_finish, may_use_instrument
from app.store.certificates import find_certificate_of_visit
from app.store.invoices import find_invoice_of_visit
from app.store.people import list_people
from app.store.premises import get_premises, list_premises
from app.store.readings import count_progress_of, list_visit_items
from app.store.share_links import list_share_links
from app.store.visits import VisitRow, facts_for_judging, get_visit, list_visits
from app.web.booking_fields import list_booking_choices, new_booking, show_booking, show_day
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, go, page
from app.web.trend_warnings import list_visit_warnings

routes = APIRouter()
PAGE = 50
MOST = 1000


@routes.get("/visits")
def show_visits(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    search, state, start = asked.text("q"), asked.value("state"), asked.whole("from", 1) or 1
    day = asked.day("day")
    # A technician's list opens with the technician's own visits.
    mine = str(person.id) if person.role == Role.TECHNICIAN else ""
    technician = asked.values.get("technician", mine)
    technician_id = int(technician) if technician.isdecimal() and len(technician) < 10 else None
    found = list_visits(session, state=state, search=search, technician_id=technician_id, day=day, limit=MOST)
    shown = found[start - 1 : start - 1 + PAGE]
    return page(
        request,
        "visits/list.html",
        visits=shown,
        progress=count_progress_of(session, [row.id for row in shown]),
        first=start,
        size=PAGE,
        total=len(found),
        search=search,
        state=state,
        states=[(each.value, each.value) for each in VisitState],
        technician=technician,
        technicians=[(row.id, row.name) for row in list_people(session) if row.role != Role.OFFICE],
        day=day,
        today=desk.today,
        narrowed=bool(search or state or day or technician != mine),
    )


@routes.get("/visits/new")
def new_visit(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    premises_id = asked.whole("premises", 1, 2**31) or asked.whole("premises_id", 1, 2**31)
    if premises_id is None:
        words = asked.text("q").casefold().split()
        places = [
            row
            for row in list_premises(session)
            if all(word in f"{row.customer.name} {row.name} {row.postcode}".casefold() for word in words)
        ]
        return page(request, "visits/new_place.html", places=places, search=asked.text("q"))
    premises = get_premises(session, premises_id)
    form = Form.showing(**show_booking(session, desk.today, asked.day("day"), premises.id))
    return page(request, "visits/new.html", form=form, premises=premises, **_booking_context(session, form))


@routes.get("/visits/parts/day")
def part_day(request: Request, session: Reading, asked: Asked) -> Response:
    """What else is on that day, and whether the instrument is in calibration, as the form is filled in."""
    return page(request, "visits/_day.html", form=asked, day=show_day(session, asked))


@routes.post("/visits")
def save_new_visit(request: Request, deed: Doing, sent: Sent) -> Response:
    premises = get_premises(deed.session, sent.needed_whole("premises_id", "Choose the premises."))
    try:
        visit = book_visit(deed, new_booking(deed.session, sent, premises.id))
    except Mistakes as wrong:
        context = _booking_context(deed.session, sent)
        raise ask_again(request, "visits/new.html", sent, wrong, premises=premises, **context) from wrong
    return go(f"/visits/{visit.id}")


@routes.get("/visits/{visit_id}")
def show_visit(request: Request, session: Reading, desk: TheDesk, person: ThePerson, visit_id: int) -> Response:
    return page(request, "visits/show.html", form=Form(), **_visit_context(session, desk, person, visit_id))


@routes.get("/visits/{visit_id}/edit")
def edit_visit(request: Request, session: Reading, visit_id: int) -> Response:
    visit = get_visit(session, visit_id)
    if visit.state != VisitState.BOOKED:
        return go(f"/visits/{visit.id}")
    form = Form.showing(
        technician_id=visit.technician_id,
        instrument_id=visit.instrument_id,
        instrument_reason=visit.instrument_reason,
        booked_on=visit.booked_on,
        booked_time=visit.booked_time.strftime("%H:%M") if visit.booked_time else "",
        note=visit.note,
        version=visit.version,
        visit_id=visit.id,
    )
    return page(request, "visits/edit.html", form=form, visit=visit, **_booking_context(session, form))


@routes.post("/visits/{visit_id}")
def save_visit(request: Request, deed: Doing, sent: Sent, visit_id: int) -> Response:
    visit = get_visit(deed.session, visit_id)
    try:
        change_booking(deed, visit.id, new_booking(deed.session, sent, visit.premises_id), sent.version())
    except Mistakes as wrong:
        context = _booking_context(deed.session, sent)
        raise ask_again(request, "visits/edit.html", sent, wrong, visit=visit, **context) from wrong
    return go(f"/visits/{visit.id}")


@routes.post("/visits/{visit_id}/start")
def save_start(request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    visit = get_visit(deed.session, visit_id)
    reason = sent.text("instrument_reason", most=500)
    asked = reason or visit.instrument_reason
    sentence = may_use_instrument(visit.instrument.good_until, deed.today, asked)
    if sentence and visit.state == VisitState.BOOKED and visit.booked_on <= deed.today:
        wrong = Mistakes({"instrument_reason": sentence})
        raise ask_again(
            request, "visits/show.html", sent, wrong, **_visit_context(deed.session, desk, person, visit_id)
        )
    sent.done()
    start_visit(deed, visit.id, reason)
    return go(f"/visits/{visit.id}/sheet")


@routes.post("/visits/{visit_id}/method")
def save_method(request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    """Say how protective conductors are measured: the test lead, d.c. both ways round, warm cords."""
    visit = get_visit(deed.session, visit_id)
    try:
        lead_ohms = sent.number("lead_ohms", "0", str(LEAD_MOST))
        conductor_c = sent.number("conductor_c", str(CONDUCTOR_C[0]), str(CONDUCTOR_C[1]))
        method = Method(lead_ohms or None, sent.tick("both_ways"), conductor_c)
        sent.done()
        change_method(deed, visit_id, method)
    except Mistakes as wrong:
        context = _visit_context(deed.session, desk, person, visit_id) | {"method_form": sent}
        raise ask_again(request, "visits/show.html", sent, wrong, **context) from wrong
    return go(f"/visits/{visit_id}/sheet" if visit.state == VisitState.UNDER_WAY else f"/visits/{visit_id}")


@routes.post("/visits/{visit_id}/finish")
def save_finish(deed: Doing, visit_id: int) -> Response:
    finish_visit(deed, visit_id)
    return go(f"/visits/{visit_id}")


@routes.post("/visits/{visit_id}/cancel")
def save_cancel(request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    try:
        reason = sent.text("reason", most=500)
        sent.done()
        cancel_visit(deed, visit_id, reason)
    except Mistakes as wrong:
        context = _visit_context(deed.session, desk, person, visit_id)
        raise ask_again(request, "visits/show.html", sent, wrong, **context) from wrong
    return go(f"/visits/{visit_id}")


def _booking_context(session: Session, form: Form) -> dict[str, Any]:
    return {"choices": list_booking_choices(session, form), "day": show_day(session, form)}


def _visit_context(session: Session, desk: TheDesk, person: Person, visit_id: int) -> dict[str, Any]:
    visit = get_visit(session, visit_id)
    progress = count_progress_of(session, [visit.id])[visit.id]
    rows = list_visit_items(session, visit.id)
    worry = may_use_instrument(visit.instrument.good_until, max(visit.booked_on, desk.today), "")
    context: dict[str, Any] = {
        "visit": visit,
        "progress": progress,
        "failed": [row for row in rows if row.verdict == Verdict.FAIL],
        "not_tested": [row for row in rows if row.not_tested],
        "watched": list_visit_warnings(session, visit, rows),
        "still_open": may_finish(progress) or "",
        "instrument_worry": worry or "" if visit.state == VisitState.BOOKED else "",
        "today": desk.today,
        "method_form": Form.showing(
            lead_ohms=visit.lead_ohms, both_ways=visit.both_ways, conductor_c=visit.conductor_c
        ),
        "may_start": visit.state == VisitState.BOOKED and visit.booked_on <= desk.today,
        "office": person.role != Role.TECHNICIAN,
        "judging": facts_for_judging(visit) if visit.started_at else None,
    }
    if person.sees_money and visit.state == VisitState.FINISHED:
        context |= _papers_context(session, visit)
    return context


def _papers_context(session: Session, visit: VisitRow) -> dict[str, Any]:
    return {
        "certificate": find_certificate_of_visit(session, visit.id),
        "invoice": find_invoice_of_visit(session, visit.id),
        "share_links": list_share_links(session, visit_id=visit.id),
    }
