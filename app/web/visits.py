"""Visits: the list, booking and changing one, its page with what was found; starting, finishing, cancelling it."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.draft_renewals import renew_draft
from app.actions.quotes import book_from_quote
from app.actions.visit_instruments import allow_instrument, change_instrument
from app.actions.visits import (
    book_visit,
    cancel_visit,
    change_booking,
    change_method,
    finish_visit,
    reopen_visit,
    start_visit,
)
from app.rules.judging import Judging
from app.rules.people import Person, Role
from app.rules.verdicts import Mistakes, Verdict
from app.rules.visits import CONDUCTOR_C, LEAD_MOST, Method, VisitState, may_finish
from app.store.certificates import find_certificate_of_visit
from app.store.doubts import list_doubts_of_visit
from app.store.instruments import list_instruments
from app.store.invoices import find_invoice_of_visit
from app.store.items import count_served
from app.store.judgings import facts_for_judging_on
from app.store.people import list_people
from app.store.photos import list_photos
from app.store.premises import get_premises, list_premises
from app.store.quotes import get_quote
from app.store.readings import count_progress_of, list_visit_items
from app.store.rounds import find_defects_and_rounds
from app.store.saved_views import list_saved_views
from app.store.share_links import list_share_links
from app.store.visits import (
    VisitRow,
    count_matching_visits,
    facts_for_judging,
    get_visit,
    list_visit_page,
    list_visits,
)
from app.web.booking_fields import list_booking_choices, new_booking, show_booking, show_day, show_served
from app.web.fields import Form
from app.web.kit import AskAgain, Asked, Doing, Reading, Sent, TheDesk, ThePerson, ask_again, done, go, page
from app.web.list_steps import show_place, show_steps
from app.web.trend_warnings import list_visit_warnings
from app.web.visit_instruments import list_other_instruments, show_fitness_of

routes = APIRouter()
PAGE = 50


@routes.get("/visits")
def show_visits(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    search, state, technician_id, day = _visits_asked(asked, person)
    start = asked.whole("from", 1, 10**9) or 1
    found = list_visit_page(session, show_place(asked), PAGE, state, search, technician_id, day)
    mine = str(person.id) if person.role == Role.TECHNICIAN else ""
    technician = asked.values.get("technician", mine)
    return page(
        request,
        "visits/list.html",
        visits=found.rows,
        progress=count_progress_of(session, [row.id for row in found.rows]),
        first=start,
        steps=show_steps("/visits", asked, found, start, PAGE),
        total=count_matching_visits(session, state, search, technician_id, day),
        views=list_saved_views(session, person.id, "/visits"),
        search=search,
        state=state,
        states=[(each.value, each.value) for each in VisitState],
        technician=technician,
        technicians=[(row.id, row.name) for row in list_people(session) if row.role != Role.OFFICE],
        day=day,
        today=desk.today,
        narrowed=bool(search or state or day or technician != mine),
    )


def list_visits_asked(session: Session, person: Person, asked: Form, most: int) -> list[VisitRow]:
    """All visits that the choices in the address leave."""
    search, state, technician_id, day = _visits_asked(asked, person)
    return list_visits(session, state, search, technician_id, day=day, limit=most)


def _visits_asked(asked: Form, person: Person) -> tuple[str, str, int | None, date | None]:
    """Words, state, technician and day. A technician's list opens with the technician's own visits."""
    mine = str(person.id) if person.role == Role.TECHNICIAN else ""
    technician = asked.values.get("technician", mine)
    technician_id = int(technician) if technician.isdecimal() and len(technician) < 10 else None
    return asked.text("q"), asked.value("state"), technician_id, asked.day("day")


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
    quote_id = asked.whole("quote", 1, 2**31)
    form.values["quote_id"] = str(quote_id or "")
    if quote_id is not None and (due_until := get_quote(session, quote_id).due_until):
        form.values["due_until"] = due_until.isoformat()
    context = _booking_context(session, desk.today, form, premises.id)
    return page(request, "visits/new.html", form=form, premises=premises, **context)


@routes.get("/visits/parts/day")
def part_day(request: Request, session: Reading, asked: Asked) -> Response:
    """What else is on that day, and whether the instrument is in calibration, as the form is filled in."""
    return page(request, "visits/_day.html", form=asked, day=show_day(session, asked))


@routes.post("/visits")
def save_new_visit(request: Request, deed: Doing, sent: Sent) -> Response:
    premises = get_premises(deed.session, sent.needed_whole("premises_id", "Choose the premises."))
    try:
        quote_id = sent.whole("quote_id", 1, 2**31)
        booking = new_booking(deed.session, sent, premises.id)
        visit = book_visit(deed, booking, sent.text("allow_reason", most=500))
        if quote_id is not None:
            book_from_quote(deed, quote_id, visit.id)
    except Mistakes as wrong:
        context = _booking_context(deed.session, deed.today, sent, premises.id)
        raise ask_again(request, "visits/new.html", sent, wrong, premises=premises, **context) from wrong
    return go(f"/visits/{visit.id}")


@routes.get("/visits/{visit_id}")
def show_visit(request: Request, session: Reading, desk: TheDesk, person: ThePerson, visit_id: int) -> Response:
    return page(request, "visits/show.html", form=Form(), **_visit_context(session, desk, person, visit_id))


@routes.get("/visits/{visit_id}/edit")
def edit_visit(request: Request, session: Reading, desk: TheDesk, visit_id: int) -> Response:
    visit = get_visit(session, visit_id)
    if visit.state != VisitState.BOOKED:
        return go(f"/visits/{visit.id}")
    form = Form.showing(
        technician_id=visit.technician_id,
        instrument_id=visit.instrument_id,
        booked_on=visit.booked_on,
        booked_time=visit.booked_time.strftime("%H:%M") if visit.booked_time else "",
        note=visit.note,
        minutes=visit.minutes if visit.minutes_by_hand else None,
        due_until=visit.due_until,
        days_asked=visit.days_asked,
        version=visit.version,
        visit_id=visit.id,
    )
    context = _booking_context(session, desk.today, form, visit.premises_id)
    return page(request, "visits/edit.html", form=form, visit=visit, **context)


@routes.post("/visits/{visit_id}")
def save_visit(request: Request, deed: Doing, sent: Sent, visit_id: int) -> Response:
    visit = get_visit(deed.session, visit_id)
    try:
        booking = new_booking(deed.session, sent, visit.premises_id)
        change_booking(deed, visit.id, booking, sent.version(), sent.text("allow_reason", most=500))
    except Mistakes as wrong:
        context = _booking_context(deed.session, deed.today, sent, visit.premises_id)
        raise ask_again(request, "visits/edit.html", sent, wrong, visit=visit, **context) from wrong
    return go(f"/visits/{visit.id}")


@routes.post("/visits/{visit_id}/start")
def save_start(request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    visit = get_visit(deed.session, visit_id)
    try:
        reason = sent.text("allow_reason", most=500)
        startable = visit.state == VisitState.BOOKED and visit.booked_on <= deed.today
        if startable and not reason and show_fitness_of(deed.session, visit, person, deed.today).may_allow:
            sent.blame("allow_reason", "Give the reason; the certificate prints it.")
        sent.done()
    except Mistakes as wrong:
        raise _ask_again(request, deed.session, desk, person, sent, wrong, visit_id) from wrong
    start_visit(deed, visit.id, reason)
    return done(request, deed, f"/visits/{visit.id}/sheet")


@routes.post("/visits/{visit_id}/allow-instrument")
def save_allowance(
    request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int
) -> Response:
    """The owner lets the instrument be used in spite of what stands against it."""
    try:
        reason = sent.text("allow_reason", most=500)
        sent.done()
        allow_instrument(deed, visit_id, reason)
    except Mistakes as wrong:
        raise _ask_again(request, deed.session, desk, person, sent, wrong, visit_id) from wrong
    return go(f"/visits/{visit_id}")


@routes.post("/visits/{visit_id}/instrument")
def save_other_instrument(
    request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int
) -> Response:
    """Take another instrument while the visit is under way."""
    try:
        instrument_id = sent.needed_whole("instrument_id", "Choose the instrument.")
        if instrument_id and instrument_id not in {row.id for row in list_instruments(deed.session)}:
            sent.blame("instrument_id", "Choose one of these.")
        sent.done()
        change_instrument(deed, visit_id, instrument_id)
    except Mistakes as wrong:
        raise _ask_again(request, deed.session, desk, person, sent, wrong, visit_id) from wrong
    return go(f"/visits/{visit_id}")


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
        raise _ask_again(request, deed.session, desk, person, sent, wrong, visit_id, method_form=sent) from wrong
    return go(f"/visits/{visit_id}/sheet" if visit.state == VisitState.UNDER_WAY else f"/visits/{visit_id}")


@routes.post("/visits/{visit_id}/finish")
def save_finish(deed: Doing, visit_id: int) -> Response:
    finish_visit(deed, visit_id)
    renew_draft(deed, visit_id)
    return go(f"/visits/{visit_id}")


@routes.post("/visits/{visit_id}/cancel")
def save_cancel(request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int) -> Response:
    try:
        reason = sent.text("reason", most=500)
        sent.done()
        cancel_visit(deed, visit_id, reason)
    except Mistakes as wrong:
        raise _ask_again(request, deed.session, desk, person, sent, wrong, visit_id) from wrong
    return go(f"/visits/{visit_id}")


@routes.post("/visits/{visit_id}/reopen")
def save_reopening(
    request: Request, deed: Doing, desk: TheDesk, person: ThePerson, sent: Sent, visit_id: int
) -> Response:
    """Open a finished visit again, so that what was recorded wrongly can be put right."""
    try:
        reason = sent.text("reopen_reason", most=500)
        sent.done()
        reopen_visit(deed, visit_id, reason)
    except Mistakes as wrong:
        raise _ask_again(request, deed.session, desk, person, sent, wrong, visit_id) from wrong
    return go(f"/visits/{visit_id}/sheet")


def _judging_of(session: Session, visit: VisitRow, today: date) -> Judging | None:
    """What it is judged by: as fixed when it began, else as it would be today; nothing for one that never began."""
    if visit.started_at:
        return facts_for_judging(visit)
    return facts_for_judging_on(session, visit.customer, today) if visit.state == VisitState.BOOKED else None


def _booking_context(session: Session, today: date, form: Form, premises_id: int) -> dict[str, Any]:
    return {
        "choices": list_booking_choices(session, form),
        "day": show_day(session, form),
        "served": show_served(session, today, form, premises_id),
        "judging": facts_for_judging_on(session, get_premises(session, premises_id).customer, today),
    }


def _ask_again(
    request: Request,
    session: Session,
    desk: TheDesk,
    person: Person,
    sent: Form,
    wrong: Mistakes,
    visit_id: int,
    **more: Any,
) -> AskAgain:
    """The page of the visit with what was typed in one of its forms, and what is wrong with it."""
    context = _visit_context(session, desk, person, visit_id) | more
    return ask_again(request, "visits/show.html", sent, wrong, **context)


def _visit_context(session: Session, desk: TheDesk, person: Person, visit_id: int) -> dict[str, Any]:
    visit = get_visit(session, visit_id)
    progress = count_progress_of(session, [visit.id])[visit.id]
    rows = list_visit_items(session, visit.id)
    find_defects_and_rounds(session, rows)
    context: dict[str, Any] = {
        "visit": visit,
        "progress": progress,
        "failed": [row for row in rows if row.verdict == Verdict.FAIL],
        "not_tested": [row for row in rows if row.not_tested],
        "watched": list_visit_warnings(session, visit, rows),
        "still_open": may_finish(progress) or "",
        "fitness": show_fitness_of(session, visit, person, desk.today),
        "other_instruments": list_other_instruments(session, visit),
        "doubts": list_doubts_of_visit(session, visit.id),
        "today": desk.today,
        "method_form": Form.showing(
            lead_ohms=visit.lead_ohms, both_ways=visit.both_ways, conductor_c=visit.conductor_c
        ),
        "may_start": visit.state == VisitState.BOOKED and visit.booked_on <= desk.today,
        "office": person.role != Role.TECHNICIAN,
        "judging": _judging_of(session, visit, desk.today),
        "served": count_served(session, visit.premises_id, visit.due_until) if visit.state == VisitState.BOOKED else 0,
    }
    photos = list_photos(session, [row.id for row in rows])
    context |= {"photos": photos, "put_right": [row for row in rows if row.rounds], "revision_due": None}
    if person.role != Role.TECHNICIAN and visit.reopened_at is not None:
        issued = find_certificate_of_visit(session, visit.id)
        context["revision_due"] = issued if issued is not None and issued.issued_at <= visit.reopened_at else None
    if person.sees_money and visit.state == VisitState.FINISHED:
        context |= _papers_context(session, visit)
    return context


def _papers_context(session: Session, visit: VisitRow) -> dict[str, Any]:
    return {
        "certificate": find_certificate_of_visit(session, visit.id),
        "invoice": find_invoice_of_visit(session, visit.id),
        "share_links": list_share_links(session, visit_id=visit.id),
    }
