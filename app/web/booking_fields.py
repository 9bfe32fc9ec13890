"""The fields of a booking: what they offer, what was typed in them, and what else is on the chosen day."""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy.orm import Session

from app.rules.due_work import suggest_visits
from app.rules.held_days import DAYS_MOST
from app.rules.instrument_standings import list_overdue_checks, list_worries
from app.rules.paces import MINUTES_LEAST, MINUTES_MOST, Estimate, describe_duration, total_estimate
from app.rules.people import Role
from app.rules.visits import Booking
from app.store.due_work import list_due_places
from app.store.instruments import list_instruments
from app.store.paces import count_kinds, facts_of_paces
from app.store.people import list_technicians
from app.store.planning_settings import get_planning_settings
from app.store.premises import get_premises
from app.store.reference_checks import facts_of_standing, facts_of_standings
from app.store.visits import VisitRow, list_live_visits
from app.web.fields import Form
from app.web.filters import show_date, show_plural
from app.web.instrument_states import show_standing

Options = list[tuple[str, str]]


#: Further ahead than this nothing is offered as what falls due (ours).
AHEAD_DAYS = 366


@dataclass(frozen=True)
class Served:
    """What a visit can be made for, as options of a field, and how long it takes by what is chosen."""

    options: tuple[tuple[str, str], ...]
    estimate: Estimate


@dataclass(frozen=True)
class Day:
    """What is said of the chosen day: other visits of the same technician or instrument, what stops the use of the
    instrument on it, and which of its reference checks are due by then.
    """

    day: date | None
    clashes: tuple[tuple[VisitRow, str], ...] = ()
    worries: tuple[str, ...] = ()
    overdue: tuple[str, ...] = ()


def list_booking_choices(session: Session, form: Form) -> dict[str, Options]:
    """The people and the instruments that can be sent; what the booking has already is offered even if it is not."""
    instruments = [row for row in list_instruments(session) if row.active or str(row.id) == form.value("instrument_id")]
    standings, day = facts_of_standings(session, instruments), Form(dict(form.values)).day("booked_on")
    return {
        "technicians": [(str(row.id), row.name) for row in list_technicians(session)],
        "instruments": [(str(row.id), f"{row.name}, {show_standing(standings[row.id], day)}") for row in instruments],
    }


def show_served(session: Session, today: date, form: Form, premises_id: int) -> Served:
    """What a visit there can be made for: everything, what the next visit of the list of what is due would serve, and
    what the form says; how long each takes, and what that rests on.
    """
    settings, chosen = get_planning_settings(session), Form(dict(form.values)).day("due_until")
    early, late = settings.early_days, settings.late_days
    ahead = today + timedelta(days=AHEAD_DAYS)
    places = list_due_places(
        session, ahead + timedelta(days=early + late), get_premises(session, premises_id).customer_id
    )
    next_ones = [
        visit.last_due_on
        for place in places
        if place.premises_id == premises_id
        for visit in suggest_visits(place.groups, today, early, late)[:1]
        if visit.first_due_on <= ahead
    ]
    paces = facts_of_paces(session)
    found = {}
    for day in (None, *sorted({*next_ones, *([chosen] if chosen else [])})):
        found[day] = total_estimate(count_kinds(session, [premises_id], day)[premises_id], paces)
    options = [
        (
            day.isoformat() if day else "",
            f"{f'What falls due by {show_date(day)}' if day else 'Everything on the register'}: "
            f"{show_plural(estimate.items, 'item')}, about {describe_duration(estimate.minutes)}",
        )
        for day, estimate in found.items()
    ]
    return Served(tuple(options), found[chosen])


def show_booking(session: Session, today: date, day: date | None, premises_id: int) -> dict[str, object]:
    """What a new booking shows: the day asked for, and technician and instrument where there is no choice."""
    technicians = [row for row in list_technicians(session) if row.role == Role.TECHNICIAN]
    instruments = [row for row in list_instruments(session) if row.active]
    return {
        "premises_id": premises_id,
        "booked_on": day or today,
        "technician_id": technicians[0].id if len(technicians) == 1 else "",
        "instrument_id": instruments[0].id if len(instruments) == 1 else "",
    }


def show_day(session: Session, form: Form) -> Day:
    """What else is on the day in the form, as far as it is filled in. Notes no mistakes in the form."""
    asked = Form(dict(form.values))
    day = asked.day("booked_on")
    technician_id, instrument_id = asked.whole("technician_id", 1, 2**31), asked.whole("instrument_id", 1, 2**31)
    if day is None:
        return Day(None)
    found = []
    for row in list_live_visits(session, day):
        if row.id == asked.whole("visit_id") or row.held_on(day) is None:
            continue
        same = [row.technician.name] if row.technician_id == technician_id else []
        same += [row.instrument.name] if row.instrument_id == instrument_id else []
        if same:
            found.append((row, " and ".join(same)))
    found.sort(key=lambda clash: (clash[0].booked_time is None, clash[0].booked_time, clash[0].id))
    instrument = next((row for row in list_instruments(session) if row.id == instrument_id), None)
    if instrument is None:
        return Day(day, tuple(found))
    standing = facts_of_standing(session, instrument)
    return Day(day, tuple(found), list_worries(standing, day), list_overdue_checks(standing, day))


def new_booking(session: Session, form: Form, premises_id: int) -> Booking:
    """The booking typed in the form. Raises Mistakes."""
    technician_id = form.needed_whole("technician_id", "Choose who goes.")
    instrument_id = form.needed_whole("instrument_id", "Choose the instrument.")
    day = form.day("booked_on", needed="Give the day of the visit.")
    booking = Booking(
        premises_id=premises_id,
        technician_id=technician_id,
        instrument_id=instrument_id,
        booked_on=day or date.min,
        booked_time=form.clock("booked_time"),
        note=form.lines("note"),
        minutes=form.whole("minutes", MINUTES_LEAST, MINUTES_MOST),
        due_until=form.day("due_until"),
        days_asked=form.whole("days_asked", 1, DAYS_MOST),
    )
    if technician_id and technician_id not in {row.id for row in list_technicians(session)}:
        form.blame("technician_id", "Choose one of these.")
    instrument = next((row for row in list_instruments(session) if row.id == instrument_id), None)
    if instrument_id and instrument is None:
        form.blame("instrument_id", "Choose one of these.")
    form.text("allow_reason", most=500)
    form.done()
    return booking
