"""When premises can be entered, where they are, whose bank holidays they keep, and typed travel times."""

from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.working_times import MINUTES_MOST, forget_travel_time, set_access_times, set_travel_time
from app.rules.bank_holidays import Region
from app.rules.travel import BASE, Stop, number_travel
from app.rules.verdicts import Mistakes
from app.rules.working_times import AccessTimes
from app.store.premises import PremisesRow, get_premises, list_premises
from app.store.working_times import (
    facts_of_access_times,
    facts_of_booking_rules,
    facts_of_travel_times,
    find_access_times,
    list_travel_times,
)
from app.web.booking_rules import new_point, show_point
from app.web.fields import Form
from app.web.kit import AskAgain, Doing, Reading, Sent, go, page
from app.web.week_fields import WEEKDAYS, new_week, show_week

routes = APIRouter()


@routes.get("/premises/{premises_id}/access-times")
def show_access_times(request: Request, session: Reading, premises_id: int) -> Response:
    form = _form(session, premises_id)
    return page(request, "access_times/show.html", form=form, way=Form(), **_context(session, premises_id))


@routes.post("/premises/{premises_id}/access-times")
def save_access_times(request: Request, deed: Doing, sent: Sent, premises_id: int) -> Response:
    try:
        week = new_week(sent)
        region = sent.choice("region", Region) if sent.value("region") else None
        times = AccessTimes(week if any(week) else None, new_point(sent), region)
        sent.done()
        set_access_times(deed, premises_id, times, sent.version())
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        context = _context(deed.session, premises_id)
        raise AskAgain(page(request, "access_times/show.html", status=422, form=sent, way=Form(), **context)) from wrong
    return go(f"/premises/{premises_id}/access-times")


@routes.post("/premises/{premises_id}/travel-times")
def save_travel_time(request: Request, deed: Doing, sent: Sent, premises_id: int) -> Response:
    try:
        other = sent.whole("other_id", 0, 2**31 - 1)
        minutes = sent.whole("minutes", 0, MINUTES_MOST)
        if other is None:
            sent.blame("other_id", "Choose the other end.")
        if minutes is None:
            sent.blame("minutes", "Give the minutes.")
        sent.done()
        set_travel_time(deed, premises_id, other or None, minutes or 0)
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        form, context = _form(deed.session, premises_id), _context(deed.session, premises_id)
        again = page(request, "access_times/show.html", status=422, form=form, way=sent, **context)
        raise AskAgain(again) from wrong
    return go(f"/premises/{premises_id}/access-times#travel")


@routes.post("/premises/{premises_id}/travel-times/{travel_time_id}/remove")
def remove_travel_time(deed: Doing, premises_id: int, travel_time_id: int) -> Response:
    forget_travel_time(deed, premises_id, travel_time_id)
    return go(f"/premises/{premises_id}/access-times#travel")


def _form(session: Session, premises_id: int) -> Form:
    row = find_access_times(session, premises_id)
    times = row.facts if row is not None else AccessTimes()
    return Form.showing(
        region=times.region.value if times.region is not None else "",
        version=row.version if row is not None else None,
        **show_week(times.week or (None,) * 7),
        **show_point(times.point),
    )


def _context(session: Session, premises_id: int) -> dict[str, Any]:
    premises, rules = get_premises(session, premises_id), facts_of_booking_rules(session)
    others = [row for row in list_premises(session) if row.id != premises.id]
    return {
        "premises": premises,
        "weekdays": WEEKDAYS,
        "regions": [(region.value, region.word) for region in Region],
        "rules": rules,
        "others": [("0", "The firm"), *((str(row.id), f"{row.name}, {row.customer.name}") for row in others)],
        "typed": [
            (row, row.minutes, "The firm" if row.other is None else _other(row.premises, row.other, premises).name)
            for row in list_travel_times(session, premises.id)
        ],
        "from_firm": _from_firm(session, premises),
    }


def _other(one: PremisesRow, other: PremisesRow, here: PremisesRow) -> PremisesRow:
    return one if other.id == here.id else other


def _from_firm(session: Session, premises: PremisesRow) -> int:
    """The minutes from the firm, as proposals count them."""
    rules, access = facts_of_booking_rules(session), facts_of_access_times(session, [premises.id])
    point = access[premises.id].point if premises.id in access else None
    stops = {BASE: Stop(BASE, rules.point), premises.id: Stop(premises.id, point, premises.miles)}
    return number_travel(stops, rules.pace, facts_of_travel_times(session, [premises.id]))[BASE, premises.id]
