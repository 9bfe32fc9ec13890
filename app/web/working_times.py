"""When somebody works, what they can test, and their days off."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.working_times import give_day_off, set_working_times, take_back_day_off
from app.rules.bank_holidays import list_bank_holidays
from app.rules.verdicts import Mistakes
from app.rules.working_times import DayOff, Skill, WorkingTimes
from app.store.instruments import list_instruments
from app.store.people import get_person
from app.store.working_times import (
    facts_of_booking_rules,
    facts_of_working_times,
    find_working_times,
    list_days_off,
)
from app.web.fields import Form
from app.web.kit import AskAgain, Doing, Reading, Sent, TheDesk, go, page
from app.web.week_fields import WEEKDAYS, new_week, show_week

routes = APIRouter()


@routes.get("/working-times/{person_id}")
def show_working_times(request: Request, session: Reading, desk: TheDesk, person_id: int) -> Response:
    context = _context(session, desk, person_id)
    return page(request, "working_times/show.html", form=_form(session, person_id), off=Form(), **context)


@routes.post("/working-times/{person_id}")
def save_working_times(request: Request, deed: Doing, desk: TheDesk, sent: Sent, person_id: int) -> Response:
    try:
        times = WorkingTimes(
            new_week(sent),
            frozenset(skill for skill in Skill if sent.tick(f"skill-{skill.value}")),
            sent.whole("week_hours_most", 1, 80),
            sent.whole("instrument_id", 1, 2**31 - 1),
        )
        if times.instrument_id and times.instrument_id not in {row.id for row in list_instruments(deed.session)}:
            sent.blame("instrument_id", "Choose one of these.")
        sent.done()
        set_working_times(deed, person_id, times, sent.version())
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        context = _context(deed.session, desk, person_id)
        raise AskAgain(
            page(request, "working_times/show.html", status=422, form=sent, off=Form(), **context)
        ) from wrong
    return go(f"/working-times/{person_id}")


@routes.post("/working-times/{person_id}/days-off")
def save_days_off(request: Request, deed: Doing, desk: TheDesk, sent: Sent, person_id: int) -> Response:
    try:
        give_day_off(deed, new_day_off(sent, person_id))
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        context, form = _context(deed.session, desk, person_id), _form(deed.session, person_id)
        again = page(request, "working_times/show.html", status=422, form=form, off=sent, **context)
        raise AskAgain(again) from wrong
    return go(f"/working-times/{person_id}#days-off")


@routes.post("/days-off/{day_off_id}/remove")
def remove_days_off(deed: Doing, day_off_id: int) -> Response:
    person_id = take_back_day_off(deed, day_off_id)
    return go(f"/working-times/{person_id}#days-off" if person_id else "/booking-rules#days-off")


def new_day_off(sent: Form, person_id: int | None) -> DayOff:
    """The days off typed in the form; the last day is the first where it is left empty. Raises Mistakes."""
    first_on = sent.day("first_on", needed="Give the first day.")
    last_on = sent.day("last_on") or first_on
    reason = sent.text("reason", most=100)
    sent.done()
    assert first_on is not None and last_on is not None
    return DayOff(person_id, first_on, last_on, reason)


def _form(session: Session, person_id: int) -> Form:
    person, row = get_person(session, person_id), find_working_times(session, person_id)
    times = facts_of_working_times(session, [person], facts_of_booking_rules(session))[person.id]
    skills = {f"skill-{skill.value}": skill in times.skills for skill in Skill}
    return Form.showing(
        week_hours_most=times.week_hours_most,
        instrument_id=times.instrument_id,
        version=row.version if row is not None else None,
        **show_week(times.week),
        **skills,
    )


def _context(session: Session, desk: TheDesk, person_id: int) -> dict[str, Any]:
    row, rules = get_person(session, person_id), facts_of_booking_rules(session)
    holidays = list_bank_holidays(rules.region, (desk.today.year, desk.today.year + 1))
    return {
        "row": row,
        "typed": find_working_times(session, person_id) is not None,
        "weekdays": WEEKDAYS,
        "skills": [(f"skill-{skill.value}", skill.word[:1].upper() + skill.word[1:]) for skill in Skill],
        "instruments": [(each.id, each.name) for each in list_instruments(session) if each.active],
        "days_off": list_days_off(session, desk.today, person_id),
        "holidays": [(day, name) for day, name in holidays.items() if day >= desk.today][:4],
        "region": rules.region,
    }
