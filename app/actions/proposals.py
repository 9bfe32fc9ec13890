"""Asking for booking proposals, having them worked out beside the server, changing one by hand, and booking them.

A question is worked out in a process of its own with a time limit, so that no page waits for it; what a solver does not
answer in time is answered by plain insertion.
"""

import logging
import multiprocessing
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from multiprocessing.connection import Connection

from app.actions.deeds import Deed, Desk, check_version, say_day
from app.actions.held_times import spread_over_days
from app.actions.planners import Place, book_from_pool
from app.rules.answered_proposals import Answer, LeftOut, suggest_answer
from app.rules.booking_conflicts import Planned, list_conflicts
from app.rules.bookings import parse_start
from app.rules.held_days import HeldDay, convert_held_days
from app.rules.proposals import Fixed, Question, list_days
from app.rules.solved_proposals import has_solver
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.firms import get_firm
from app.store.instruments import get_instrument
from app.store.paces import facts_of_estimate
from app.store.people import get_person
from app.store.premises import get_premises
from app.store.proposal_facts import facts_of_question, facts_of_run, list_premises_with_visit
from app.store.proposals import (
    ProposalRow,
    ProposalRunRow,
    RunState,
    facts_of_plans,
    get_proposal,
    get_proposal_run,
    list_locked,
)
from app.store.visits import VisitRow
from app.store.wanted_visits import list_wanted_visits

PREMISES_MOST = 120
WEEKS_MOST = 8
SECONDS_MOST = 30.0
#: A visit that an agreement wants so many days later counts as the one that is booked.
POOL_DAYS = 45
NOTHING_DUE = "Nothing falls due there in these weeks."
log = logging.getLogger("ohmstead")


@dataclass(frozen=True)
class Placing:
    """Where somebody puts a proposed visit by hand."""

    technician_id: int
    instrument_id: int
    day: date
    starts_at: time


def ask_for_proposals(
    deed: Deed, premises_ids: Sequence[int], begins_on: date, weeks: int, early_days: int
) -> ProposalRunRow:
    """Ask when some premises could be visited. work_out_proposals answers. Raises Mistakes."""
    mistakes = {}
    if not premises_ids:
        mistakes["premises"] = "Tick at least one of the premises."
    elif len(premises_ids) > PREMISES_MOST:
        mistakes["premises"] = f"Tick at most {PREMISES_MOST} premises at once."
    if begins_on <= deed.today:
        mistakes["begins_on"] = "Proposals begin tomorrow or later."
    elif begins_on > deed.today + timedelta(days=366):
        mistakes["begins_on"] = "Proposals begin within a year."
    if not 1 <= weeks <= WEEKS_MOST:
        mistakes["weeks"] = f"Choose 1 to {WEEKS_MOST} weeks."
    if mistakes:
        raise Mistakes(mistakes)
    run = ProposalRunRow(
        asked_by_id=deed.doer.id,
        asked_at=deed.now,
        begins_on=begins_on,
        weeks=weeks,
        early_days=early_days,
        state=RunState.WAITING.value,
        method="",
    )
    deed.session.add(run)
    deed.session.flush()
    for premises_id in dict.fromkeys(premises_ids):
        get_premises(deed.session, premises_id)
        deed.session.add(ProposalRow(run_id=run.id, premises_id=premises_id, minutes=0, travel_minutes=0, reasons=[]))
    deed.session.flush()
    return run


def ask_again_for_proposals(deed: Deed, run_id: int) -> ProposalRunRow:
    """Have a question worked out again by the facts of now. What is booked or was placed by hand stays."""
    run = get_proposal_run(deed.session, run_id, locked=True)
    if run.begins_on <= deed.today:
        raise Refused("The first day of these proposals has passed. Ask again from the list of what is due.")
    run.state, run.asked_at, run.asked_by_id = RunState.WAITING.value, deed.now, deed.doer.id
    deed.session.flush()
    deed.session.expire(run, ["asked_by"])
    return run


def work_out_proposals(desk: Desk, run_id: int, seconds: float = SECONDS_MOST) -> None:
    """Answer a question that waits. Facts are read first and the answer written last, each in its own transaction."""
    try:
        with desk.reading_only() as session:
            run = get_proposal_run(session, run_id)
            if run.state != RunState.WAITING:
                return
            waiting = [row.premises_id for row in run.proposals if row.visit_id is None]
            stays = facts_of_plans(row for row in run.proposals if row.open and row.by_hand)
            question = facts_of_question(
                session, waiting, list_days(run.begins_on, run.weeks), run.early_days, desk.today
            )
            visits = {
                place_id: f"A visit is booked there already, for {say_day(row.booked_on)}."
                for place_id, row in list_premises_with_visit(session, waiting).items()
            }
        question = _without(question, visits, stays)
        answer = _answer_beside(question, seconds) if question.wishes else suggest_answer(question, with_solver=False)
    except Exception:
        log.exception("booking proposals %s could not be worked out", run_id)
        with desk.doing(None) as deed:
            get_proposal_run(deed.session, run_id, locked=True).state = RunState.FAILED.value
        return
    with desk.doing(None) as deed:
        _keep(get_proposal_run(deed.session, run_id, locked=True), answer, visits)


def place_by_hand(deed: Deed, run_id: int, proposal_id: int, placing: Placing, version: int | None = None) -> None:
    """Put a visit somewhere by hand, also one that found no place. Conflicts are only shown. Raises Mistakes."""
    row = get_proposal(deed.session, run_id, proposal_id)
    check_version(row, version, "this proposal")
    if row.visit_id is not None:
        raise Refused("This one is booked. Change the visit instead.")
    if placing.day <= deed.today:
        raise Mistakes({"day": "Choose a day after today."})
    if not get_person(deed.session, placing.technician_id).active:
        raise Mistakes({"technician_id": "Choose somebody who works here."})
    get_instrument(deed.session, placing.instrument_id)
    for other in row.run.proposals:  # their reasons name neighbours and travel of the day as it was
        beside = (other.day, other.technician_id) == (row.day, row.technician_id) and other is not row
        if other.open and beside and not other.by_hand:
            other.reasons = [*other.reasons, f"Worked out while {row.premises.name} was on this day too."]
    row.technician_id, row.instrument_id = placing.technician_id, placing.instrument_id
    row.day, row.starts_at, row.travel_minutes = placing.day, placing.starts_at, 0
    if not row.minutes:  # nothing falls due there; whoever goes all the same looks at everything
        row.minutes = facts_of_estimate(deed.session, row.premises_id).minutes
    days = _spread(deed, row, placing)
    row.starts_at, row.held_days = parse_start(days[0].start or 0), convert_held_days(days) if len(days) > 1 else None
    row.reasons, row.by_hand = [f"Placed by hand by {deed.doer.name}."], True
    deed.session.flush()


def book_proposals(deed: Deed, run_id: int, proposal_ids: Iterable[int]) -> list[VisitRow]:
    """Book proposed visits, all or none. Refuses what would be booked twice: a person, an instrument, premises."""
    run = get_proposal_run(deed.session, run_id, locked=True)
    wanted = set(proposal_ids)
    rows = [row for row in run.proposals if row.id in wanted and row.open]
    if not rows:
        raise Mistakes({"proposals": "Tick at least one visit that is not booked yet."})
    # Two who book at once wait for each other here, so that each sees what the other has booked.
    get_firm(deed.session, locked=True)
    list_locked(deed.session, [row.technician_id or 0 for row in rows], [row.instrument_id or 0 for row in rows])
    taken = list_premises_with_visit(deed.session, [row.premises_id for row in rows])
    problems = [f"{row.premises.name}: a visit is booked there already." for row in rows if row.premises_id in taken]
    question = facts_of_run(deed.session, run, deed.today)
    plans = facts_of_plans(rows)
    for plan in plans:
        if plan.day <= deed.today:
            problems.append(f"{plan.name}: the day has passed.")
        found = list_conflicts(question, plan, plans)
        problems += [f"{plan.name}, {say_day(plan.day)}: {each.sentence}" for each in found if each.refused]
    if problems:
        raise Refused(f"Nothing was booked. {' '.join(problems)}")
    # What waits in the pool for one of the premises is booked with it, and waits no longer.
    until = max(plan.day for plan in plans) + timedelta(days=POOL_DAYS)
    pool = {each.premises_id: each.id for each in reversed(list_wanted_visits(deed.session, until))}
    visits = []
    for row in rows:
        assert row.day is not None and row.technician_id is not None  # it is open
        # What is proposed is an estimate; it is made anew here, for what the proposal was made for.
        minutes = None if row.due_until else row.minutes
        days = len(row.held) if row.held_days else None
        place = Place(row.day, row.technician_id, row.starts_at, row.instrument_id, minutes, row.due_until, days)
        try:
            visit = book_from_pool(deed, row.premises_id, place, pool.get(row.premises_id))
        except Mistakes as wrong:  # what only holding the time can find
            told = " ".join(wrong.messages.values())
            raise Refused(f"Nothing was booked. {row.premises.name}, {say_day(row.day)}: {told}") from wrong
        row.visit_id = visit.id
        visits.append(visit)
    deed.session.flush()
    return visits


def _spread(deed: Deed, row: ProposalRow, placing: Placing) -> tuple[HeldDay, ...]:
    """The days of what is placed by hand: one, or equal parts on as many as it needs. Raises Mistakes."""
    booking = Booking(row.premises_id, placing.technician_id, placing.instrument_id, placing.day, placing.starts_at)
    try:
        many = len(spread_over_days(deed, booking, row.minutes))
        return spread_over_days(deed, replace(booking, days_asked=many), row.minutes)
    except Mistakes as wrong:
        raise Mistakes({"starts_at": " ".join(wrong.messages.values())}) from wrong


def _without(question: Question, visits: dict[int, str], stays: Sequence[Planned]) -> Question:
    """The question without premises that have a visit, and with what was placed by hand as if it were booked."""
    told = {*visits, *(plan.place_id for plan in stays)}
    fixed = (
        Fixed(
            -plan.key, plan.place_id, plan.name, plan.minutes, plan.worker_id, plan.instrument_id, plan.day, plan.start
        )
        for plan in stays
        if plan.place_id not in visits
    )
    wishes = tuple(wish for wish in question.wishes if wish.place_id not in told)
    return replace(question, wishes=wishes, fixed=(*question.fixed, *fixed))


def _answer_beside(question: Question, seconds: float) -> Answer:
    """The answer of a process of its own; plain insertion here where it gives none in time, or there is no solver."""
    if not has_solver():
        return suggest_answer(question, with_solver=False)
    # A fresh process: a fork of a server with threads may hang.
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=_answer_into, args=(theirs, question), daemon=True)
    process.start()
    theirs.close()
    try:
        if ours.poll(seconds):
            answer: Answer = ours.recv()
            return answer
        log.warning("the solver gave no answer within %s seconds", seconds)
    except EOFError:
        log.warning("the solver ended without an answer")
    finally:
        process.kill()
        process.join()
        ours.close()
    return suggest_answer(question, with_solver=False)


def _answer_into(pipe: Connection, question: Question) -> None:
    pipe.send(suggest_answer(question, with_solver=True))
    pipe.close()


def _keep(run: ProposalRunRow, answer: Answer, visits: dict[int, str]) -> None:
    """Write an answer into the rows of its question."""
    if run.state != RunState.WAITING:
        return  # asked and answered twice at once
    placed = {each.place_id: each for each in answer.proposals}
    left = {each.place_id: each for each in answer.left_out}
    for row in run.proposals:
        if row.visit_id is not None or (row.by_hand and row.day is not None):
            continue
        if (found := placed.get(row.premises_id)) is not None:
            row.minutes, row.day, row.starts_at = found.minutes, found.day, time(*divmod(found.start, 60))
            row.technician_id, row.instrument_id = found.worker_id, found.instrument_id
            row.travel_minutes, row.reasons, row.due_until = found.travel, list(found.reasons), found.due_until
            row.held_days = convert_held_days(found.days) or None
        else:
            row.day = row.starts_at = row.technician_id = row.instrument_id = row.held_days = None
            nothing = visits.get(row.premises_id, NOTHING_DUE)
            told = left.get(row.premises_id, LeftOut(row.premises_id, row.minutes, (nothing,)))
            row.minutes, row.travel_minutes, row.reasons = told.minutes, 0, list(told.reasons)
            row.due_until = told.due_until
    run.state, run.method = RunState.ANSWERED.value, answer.method
