"""What the demo's proposals go by: where places are, who works when, access times; and one question with its answer.

The places stand on an empty moor, since Millbeck does not exist.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Any

from app.actions.proposals import ask_for_proposals, work_out_proposals
from app.actions.working_times import (
    give_day_off,
    set_access_times,
    set_booking_rules,
    set_travel_time,
    set_working_times,
)
from app.rules.travel import Point
from app.rules.working_times import USUAL_WEEK, AccessTimes, BookingRules, DayOff, Skill, WorkingTimes, parse_span
from app.store.due_work import list_due_places
from app.store.premises import list_premises

FIRM = ("54.4800", "-2.3600")
#: By the name of the premises: latitude, longitude, and when they can be entered, Monday first; none for any time.
PLACES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "Main building": ("54.4935", "-2.3410", ("15:00-18:30",) * 5),
    "Nursery block": ("54.4938", "-2.3402", ("8:00-17:00",) * 5),
    "Brewhouse": ("54.4610", "-2.4020", ("", "7:00-17:00", "7:00-17:00", "7:00-17:00", "7:00-17:00")),
    "Saltgate Tap": ("54.4622", "-2.4051", ("8:00-11:30",) * 5),
    "Workshop": ("54.5470", "-2.4400", ("7:30-16:30",) * 4 + ("7:30-12:30",)),
    "Main house": ("54.4305", "-2.2810", ("9:30-16:00",) * 5),
    "Day centre": ("54.4301", "-2.2832", ()),
    "Harbour Row": ("54.4650", "-2.5210", ()),
}


def _prepare(demo: Any) -> None:
    """Note what proposals go by, in the office."""
    with demo.desk.doing(demo.office) as deed:
        set_booking_rules(deed, BookingRules(_point(*FIRM)))
        for row in list_premises(deed.session):
            if (place := PLACES.get(row.name)) is not None:
                hours = place[2] + ("",) * (7 - len(place[2])) if place[2] else ()
                week = tuple(parse_span(text) for text in hours) or None
                set_access_times(deed, row.id, AccessTimes(week, _point(*place[:2])))
                if row.name == "Workshop":
                    set_travel_time(deed, row.id, None, 35)
        joss, wren = (demo.staff[name].id for name in ("Joss Alder", "Wren Castell"))
        set_working_times(deed, joss, WorkingTimes(USUAL_WEEK, frozenset(Skill), None, demo.instruments[0]))
        short = ((540, 960),) * 4 + (None,) * 3
        able = frozenset({Skill.MICROWAVE, Skill.AFTER_REPAIR})
        set_working_times(deed, wren, WorkingTimes(short, able, 28, demo.instruments[1]))
        away = demo.today + timedelta(days=15)
        give_day_off(deed, DayOff(wren, away, away + timedelta(days=2), "holiday"))


def propose_in_demo(demo: Any) -> None:
    """Note what proposals go by, and ask when what falls due in the next weeks could be visited."""
    _prepare(demo)
    with demo.desk.doing(demo.office) as deed:
        until = demo.today + timedelta(days=42)
        places = [place.premises_id for place in list_due_places(deed.session, until) if place.visit_id is None]
        run_id = ask_for_proposals(deed, places, demo.today + timedelta(days=1), 6, 30).id if places else None
    if run_id is not None:
        work_out_proposals(demo.desk, run_id)


def _point(latitude: str, longitude: str) -> Point:
    return Point(Decimal(latitude), Decimal(longitude))
