"""What falls due, as visits that could be made: by month, with their time and cost. Money only for those who see it."""

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.rules.due_work import DueVisit, describe_area, suggest_visits, total_due_estimate, total_pence
from app.rules.equipment import Environment
from app.rules.intervals import next_due
from app.rules.paces import Estimate, describe_duration
from app.rules.people import Person
from app.store.customers import list_customers
from app.store.due_work import DuePlace, count_without_date, facts_of_agreements, list_due_places
from app.store.letters import list_last_recalls
from app.store.paces import facts_of_paces
from app.store.planning_settings import get_planning_settings
from app.store.saved_views import list_saved_views
from app.web.fields import Form
from app.web.kit import Asked, Reading, TheDesk, ThePerson, page

routes = APIRouter()
PAGE = 50
AREA = "area"
MONTHS = (1, 3, 6, 12, 24)
MONTHS_USUAL = 3
WINDOW_MOST = 366


@dataclass(frozen=True)
class DueEntry:
    """One visit of the list. pence is None where no price is agreed, or for somebody who sees no money."""

    place: DuePlace
    visit: DueVisit
    late_already: int
    estimate: Estimate
    pence: int | None
    booked: bool

    @property
    def area(self) -> str:
        return describe_area(self.place.postcode)


@dataclass(frozen=True)
class DueList:
    """What the choices in the address come to. early and late: the window in days."""

    entries: list[DueEntry]
    until: date
    months: int
    early: int
    late: int
    customer_id: int | None
    environment: str
    area: str
    by_area: bool
    areas: list[str]


def list_due_entries(session: Session, desk: Desk, person: Person, asked: Form) -> DueList:
    """All visits that could be made, overdue first, then by month and day; by area first where that is asked for."""
    today = desk.today
    months = asked.whole("months", 1, 60) or MONTHS_USUAL
    early, late = asked.whole("early", 0, WINDOW_MOST), asked.whole("late", 0, WINDOW_MOST)
    settings = get_planning_settings(session)
    early = settings.early_days if early is None else early
    late = settings.late_days if late is None else late
    customer_id = asked.whole("customer", 1, 2**31 - 1)
    environment = next((each for each in Environment if each == asked.value("environment")), None)
    until = next_due(today, months) or today
    # A visit at the end of the time shown may serve what falls due after it.
    places = list_due_places(session, until + timedelta(days=early + late), customer_id, environment or "")
    paces = facts_of_paces(session)
    agreements = facts_of_agreements(session, today) if person.sees_money else {}
    entries: list[DueEntry] = []
    known: dict[object, int] = {}
    for place in places:
        agreement = agreements.get(place.customer_id) or agreements.get(None)
        for number, visit in enumerate(suggest_visits(place.groups, today, early, late, place.waiting)):
            if visit.first_due_on > until:
                continue
            entries.append(
                DueEntry(
                    place,
                    visit,
                    sum(group.count for group in visit.groups if group.due_on < today),
                    total_due_estimate(visit, paces),
                    total_pence(visit.groups, agreement, place.miles, known) if agreement else None,
                    number == 0 and place.booked_on is not None,
                )
            )
    areas = sorted({entry.area for entry in entries})
    area, by_area = asked.value("area"), asked.value("by") == AREA
    if area not in areas:
        area = ""
    entries = [entry for entry in entries if not area or entry.area == area]
    entries.sort(key=lambda entry: (not entry.late_already, entry.visit.day.replace(day=1), entry.visit.first_due_on))
    if by_area:
        entries.sort(key=lambda entry: entry.area)  # within an area they stay as they are
    return DueList(entries, until, months, early, late, customer_id, environment or "", area, by_area, areas)


@routes.get("/due")
def list_due_work(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    due = list_due_entries(session, desk, person, asked)
    entries = due.entries
    start = asked.whole("from", 1, 10**6) or 1
    shown = entries[start - 1 : start - 1 + PAGE]
    kept = {
        "customer": due.customer_id,
        "environment": due.environment or None,
        "area": due.area or None,
        "by": AREA if due.by_area else None,
        "months": due.months,
        "early": due.early,
        "late": due.late,
    }
    return page(
        request,
        "due_work/list.html",
        sections=[(word, list(rows)) for word, rows in groupby(shown, _area if due.by_area else _section)],
        form=asked,
        visits=len(entries),
        items=sum(entry.visit.items for entry in entries),
        overdue=sum(entry.late_already for entry in entries),
        minutes=describe_duration(sum(entry.estimate.minutes for entry in entries)),
        pence=sum(entry.pence or 0 for entry in entries) if person.sees_money else None,
        sentence=_pace_sentence(entries),
        letters=list_last_recalls(session) if person.sees_money else {},
        without_date=count_without_date(session),
        today=desk.today,
        until=due.until,
        months=due.months,
        early=due.early,
        late=due.late,
        customer_id=due.customer_id,
        environment=due.environment,
        area=due.area,
        by=AREA if due.by_area else "",
        areas=[(area, _area_words(area)) for area in due.areas],
        orders=[(AREA, "Area")],
        customers=[(row.id, row.name) for row in list_customers(session)],
        environments=[(each.value, each.word.capitalize()) for each in Environment],
        spans=[(each, f"{each} month{'s' if each > 1 else ''}") for each in MONTHS],
        kept=urlencode({name: value for name, value in kept.items() if value is not None}),
        views=list_saved_views(session, person.id, "/due"),
        first=start,
        size=PAGE,
    )


def _pace_sentence(entries: list[DueEntry]) -> str:
    """What the times rest on, by the visit with the most items."""
    most = max(entries, key=lambda entry: entry.estimate.items, default=None)
    return most.estimate.sentence if most is not None else ""


def _section(entry: DueEntry) -> str:
    return "Overdue" if entry.late_already else _month(entry.visit.day)


def _area(entry: DueEntry) -> str:
    return _area_words(entry.area)


def _area_words(area: str) -> str:
    return area or "Without a postcode"


def _month(day: date) -> str:
    return f"{day:%B %Y}"
