"""The firm's booking rules: where it is, how it gets about, its usual week, its bank holidays and days off."""

from decimal import Decimal, InvalidOperation
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.working_times import give_day_off, set_booking_rules
from app.rules.bank_holidays import Region, list_bank_holidays
from app.rules.quantities import number_rounded
from app.rules.travel import Pace, Point
from app.rules.verdicts import Mistakes
from app.rules.working_times import BookingRules
from app.store.people import list_technicians
from app.store.working_times import (
    facts_of_booking_rules,
    facts_of_working_times,
    find_booking_rules,
    list_days_off,
)
from app.web.fields import Form
from app.web.kit import AskAgain, Doing, Reading, Sent, TheDesk, go, page
from app.web.week_fields import WEEKDAYS, new_week, show_week
from app.web.working_times import new_day_off

routes = APIRouter()


@routes.get("/booking-rules")
def show_booking_rules(request: Request, session: Reading, desk: TheDesk) -> Response:
    return page(request, "booking_rules/show.html", form=_form(session), off=Form(), **_context(session, desk))


@routes.post("/booking-rules")
def save_booking_rules(request: Request, deed: Doing, desk: TheDesk, sent: Sent) -> Response:
    usual = Pace()
    try:
        factor, speed = sent.number("road_factor", "1", "5"), sent.whole("speed_mph", 5, 70)
        unknown, free = sent.whole("unknown_minutes", 0, 240), sent.whole("free_percent", 0, 80)
        rules = BookingRules(
            new_point(sent),
            Pace(
                usual.road_factor if factor is None else factor,
                usual.speed_mph if speed is None else speed,
                usual.unknown_minutes if unknown is None else unknown,
            ),
            sent.choice("region", Region),
            new_week(sent),
            BookingRules().free_percent if free is None else free,
        )
        sent.done()
        set_booking_rules(deed, rules, sent.version())
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        context = _context(deed.session, desk)
        raise AskAgain(
            page(request, "booking_rules/show.html", status=422, form=sent, off=Form(), **context)
        ) from wrong
    return go("/booking-rules")


@routes.post("/booking-rules/days-off")
def save_firm_days_off(request: Request, deed: Doing, desk: TheDesk, sent: Sent) -> Response:
    try:
        give_day_off(deed, new_day_off(sent, None))
    except Mistakes as wrong:
        sent.mistakes |= wrong.messages
        context, form = _context(deed.session, desk), _form(deed.session)
        raise AskAgain(page(request, "booking_rules/show.html", status=422, form=form, off=sent, **context)) from wrong
    return go("/booking-rules#days-off")


def show_point(point: Point | None) -> dict[str, Any]:
    """The two fields of a place."""
    return {"latitude": point.latitude if point else None, "longitude": point.longitude if point else None}


def new_point(sent: Form) -> Point | None:
    """The place typed in the form, in degrees; both in one field, as maps give them, will do. Notes mistakes in it."""
    latitude, longitude = sent.text("latitude", 40), sent.text("longitude", 40)
    if not longitude and latitude.count(",") == 1:
        latitude, longitude = (part.strip() for part in latitude.split(","))
    if not latitude and not longitude:
        return None
    found = []
    for name, text, most in (("latitude", latitude, 90), ("longitude", longitude, 180)):
        try:
            degrees = Decimal(text.replace("−", "-"))
        except InvalidOperation:
            degrees = Decimal("NaN")
        if not degrees.is_finite() or abs(degrees) > most:
            sent.blame(name, f"Give degrees from −{most} to {most}, such as {'54.327' if most == 90 else '-2.747'}.")
            degrees = Decimal(0)
        found.append(number_rounded(degrees))
    return Point(*found)


def _form(session: Session) -> Form:
    rules, row = facts_of_booking_rules(session), find_booking_rules(session)
    return Form.showing(
        road_factor=rules.pace.road_factor,
        speed_mph=rules.pace.speed_mph,
        unknown_minutes=rules.pace.unknown_minutes,
        region=rules.region.value,
        free_percent=rules.free_percent,
        version=row.version if row is not None else None,
        **show_week(rules.week),
        **show_point(rules.point),
    )


def _context(session: Session, desk: TheDesk) -> dict[str, Any]:
    rules, people = facts_of_booking_rules(session), list_technicians(session)
    times = facts_of_working_times(session, people, rules)
    holidays = list_bank_holidays(rules.region, (desk.today.year, desk.today.year + 1))
    return {
        "weekdays": WEEKDAYS,
        "regions": [(region.value, region.word) for region in Region],
        "people": [(row, times[row.id], sum(b - a for a, b in filter(None, times[row.id].week)) // 60)
                   for row in people],
        "days_off": list_days_off(session, desk.today),
        "holidays": [(day, name) for day, name in holidays.items() if day >= desk.today],
        "region": rules.region,
    }  # fmt: skip
