"""The first page of the day: today's visits, what is due, and what waits for somebody. Only who sees money gets it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.deeds import Desk
from app.rules.instrument_standings import Standing
from app.rules.office_tasks import OfficeLine, OfficeTask, list_office_lines
from app.rules.people import Person, Role
from app.rules.visits import Progress, VisitState
from app.store.customers import CustomerRow, list_customers
from app.store.defects import list_open_defects_of_all
from app.store.doubts import list_open_doubts
from app.store.instruments import InstrumentRow, list_instruments
from app.store.invoices import list_invoices
from app.store.office_tasks import count_office_tasks
from app.store.overviews import (
    count_defects,
    list_due_premises,
    list_open_visits,
    list_overdue_invoices,
    list_uncertified_visits,
    list_uninvoiced_visits,
)
from app.store.planning_settings import get_planning_settings
from app.store.premises import list_premises
from app.store.prices import list_price_agreements
from app.store.quotes import list_quotes
from app.store.readings import count_progress_of
from app.store.reference_checks import facts_of_standings
from app.store.tasks import list_tasks
from app.store.visits import VisitRow, list_visits
from app.web.defects import DefectEntry, show_entry
from app.web.instrument_states import InstrumentState, show_state
from app.web.kit import Reading, TheDesk, ThePerson, page
from app.web.visit_instruments import show_fitness

routes = APIRouter()

SOON = timedelta(days=30)
COMING = timedelta(days=7)


@dataclass(frozen=True)
class VisitEntry:
    """A visit as home shows it. may_start: whether one press starts it, with nothing left to ask; warnings are about
    its instrument.
    """

    visit: VisitRow
    progress: Progress
    own: bool
    may_start: bool
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class FirstStep:
    """One of the things to do before the first visit."""

    word: str
    why: str
    href: str
    done: bool


@routes.get("/")
def show_home(request: Request, desk: TheDesk, person: ThePerson, session: Reading) -> Response:
    today = desk.today
    steps = _first_steps(session, person, today) if not list_visits(session, limit=1) else []
    still_open = list_open_visits(session, today + COMING)
    of_today = [
        row for row in list_visits(session, day=today) if row.state != VisitState.CANCELLED and row.held_on(today)
    ]
    left_open = [row for row in still_open if row.until < today]
    instruments = list_instruments(session)
    standings = facts_of_standings(session, instruments)
    due = list_due_premises(session, today)
    return page(
        request,
        "home/show.html",
        today=today,
        steps=steps,
        todays=_entries(session, person, of_today, standings, today),
        left_open=_entries(session, person, left_open, standings, today),
        coming=[row for row in still_open if row.booked_on > today],
        due=due,
        overdue_items=sum(each.overdue for each in due),
        instruments=_instruments_to_see_to(instruments, standings, today),
        defects=count_defects(session),
        tasks=list_tasks(session, None if person.sees_money else person.id),
        past_date=_past_date(session, desk, person),
        office_lines=_office_lines(session, desk) if person.sees_money else (),
        papers=_papers(session) if person.sees_money else None,
        money=_money(session, today) if person.sees_money else None,
    )


def _entries(
    session: Session, person: Person, rows: Sequence[VisitRow], standings: Mapping[int, Standing], today: date
) -> list[VisitEntry]:
    progress = count_progress_of(session, [row.id for row in rows])
    entries = []
    for row in rows:
        own = row.technician_id == person.id
        fitness = show_fitness(row, standings[row.instrument_id], person, today)
        ready = own and not fitness.refusal and row.state == VisitState.BOOKED
        entries.append(VisitEntry(row, progress[row.id], own, ready, (*fitness.worries, *fitness.overdue)))
    # One's own first, what is under way before what is booked, and what is finished last; by time among equals.
    order = [VisitState.UNDER_WAY, VisitState.BOOKED, VisitState.FINISHED]
    return sorted(entries, key=lambda entry: (not entry.own, order.index(VisitState(entry.visit.state))))


def _instruments_to_see_to(
    instruments: Sequence[InstrumentRow], standings: Mapping[int, Standing], today: date
) -> list[tuple[InstrumentRow, InstrumentState]]:
    """Instruments in use that may not be used, or whose calibration or reference check is due."""
    found = []
    for row in instruments:
        if not row.active:
            continue
        state, good_until = show_state(row, standings[row.id], today), row.good_until
        if state.worries or state.overdue or (good_until is not None and good_until <= today + SOON):
            found.append((row, state))
    return sorted(found, key=lambda entry: (not entry[1].worries, entry[0].good_until or date.min))


def _papers(session: Session) -> dict[str, Any]:
    """Finished visits without their papers, and drafts."""
    drafts = list_invoices(session, state="draft")
    drafted = {row.visit_id for row in drafts}
    return {
        "uncertified": list_uncertified_visits(session),
        "uninvoiced": [row for row in list_uninvoiced_visits(session) if row.id not in drafted],
        "drafts": drafts,
        "quotes": [row for row in list_quotes(session, limit=50) if row.state == "draft"],
    }


def _office_lines(session: Session, desk: Desk) -> tuple[OfficeLine, ...]:
    """Letters to write, hits of recall lists and what else waits in the office, as counts."""
    counts = count_office_tasks(session, get_planning_settings(session), desk.today, desk.now)
    return list_office_lines(counts | {OfficeTask.DOUBT: len(list_open_doubts(session))})


def _past_date(session: Session, desk: Desk, person: Person) -> list[DefectEntry]:
    """Defects whose day to act by has passed: all for the office, one's own for a technician."""
    found = list_open_defects_of_all(session, past=desk.today)
    entries = [show_entry(desk, each) for each in found if each.defect.said_done_at is None]
    return [each for each in entries if person.sees_money or each.open.defect.duty_person_id == person.id]


def _money(session: Session, today: date) -> dict[str, Any]:
    """Invoices whose day has passed, with what is owed."""
    rows = list_overdue_invoices(session, today)
    return {"overdue": rows, "overdue_pence": sum(row.owed_pence for row in rows)}


def _first_steps(session: Session, person: Person, today: date) -> list[FirstStep]:
    """What a brand-new firm does before its first visit."""
    if person.role == Role.TECHNICIAN:
        return []
    steps = [
        FirstStep(
            "Enter your prices",
            "What one item costs, the call-out and the least that you charge. Invoices are made from them.",
            "/prices",
            bool(list_price_agreements(session, None)),
        ),
        _instrument_step(list_instruments(session), today),
        _customer_step(list_customers(session), bool(list_premises(session))),
        FirstStep(
            "Book a visit",
            "A day, somebody to go, and the instrument to take. The rest happens on site.",
            "/visits/new",
            False,
        ),
    ]
    return steps if person.role == Role.OWNER else steps[1:]  # prices are the owner's to enter


def _instrument_step(instruments: Sequence[InstrumentRow], today: date) -> FirstStep:
    calibrated = any(row.good_until is not None and row.good_until >= today for row in instruments)
    if instruments and not calibrated:
        why = "When it was calibrated, by whom, and until when that holds; the certificate prints it."
        return FirstStep("Enter the calibration of your instrument", why, f"/instruments/{instruments[0].id}", False)
    why = "Your tester, with its serial number and its calibration certificate; every reading names it."
    return FirstStep("Add an instrument", why, "/instruments/new", calibrated)


def _customer_step(customers: Sequence[CustomerRow], with_premises: bool) -> FirstStep:
    if customers and not with_premises:
        why = f"Where the equipment of {customers[0].name} is; a visit goes to premises."
        return FirstStep("Add the premises of your customer", why, f"/customers/{customers[0].id}", False)
    return FirstStep(
        "Add a customer", "Who pays, and the premises where the equipment is.", "/customers/new", with_premises
    )
