"""What stands against a visit at a day and time, as chosen by hand or as things have changed since it was proposed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.rules.proposals import Fixed, Question
from app.rules.travel import BASE
from app.rules.working_times import DAYS, describe_clock, describe_span


@dataclass(frozen=True)
class Planned:
    """A visit that is about to be booked. start: minutes after midnight; key tells it from the others."""

    key: int
    place_id: int
    name: str
    minutes: int
    worker_id: int
    instrument_id: int
    day: date
    start: int


@dataclass(frozen=True)
class Conflict:
    """What stands against a visit. refused: it cannot be booked like that; else somebody who knows better may."""

    sentence: str
    refused: bool = False


def list_conflicts(question: Question, plan: Planned, others: Sequence[Planned] = ()) -> tuple[Conflict, ...]:
    """List what stands against a visit, given what is booked and what else is about to be."""
    near = [each for each in (*_booked(question), *others) if each.day == plan.day and each.key != plan.key]
    return (
        *_double(question, plan, near),
        *_timed(question, plan, near),
        *_of_person(question, plan),
        *_of_place(question, plan),
        *_of_instrument(question, plan),
    )


def _booked(question: Question) -> list[Planned]:
    return [
        Planned(-fixed.visit_id, fixed.place_id, fixed.name, fixed.minutes, fixed.worker_id, fixed.instrument_id,
                fixed.day, fixed.start)
        for fixed in question.fixed
        if fixed.start is not None
    ]  # fmt: skip


def _double(question: Question, plan: Planned, near: Sequence[Planned]) -> list[Conflict]:
    found = []
    for other in near:
        if other.worker_id == plan.worker_id and _overlap(plan, other):
            clock = f"{describe_clock(other.start)} to {describe_clock(other.start + other.minutes)}"
            found.append(Conflict(f"{_name(question, plan)} is at {other.name} from {clock}.", refused=True))
    holders = {other.worker_id: other.name for other in near if other.instrument_id == plan.instrument_id}
    holders |= {
        each.worker_id: each.name for each in _loose(question, plan) if each.instrument_id == plan.instrument_id
    }
    for worker_id, place in holders.items():
        if worker_id != plan.worker_id:
            found.append(Conflict(f"The instrument is with somebody else that day, at {place}.", refused=True))
    return found


def _timed(question: Question, plan: Planned, near: Sequence[Planned]) -> list[Conflict]:
    found = []
    for other in near:
        if other.worker_id != plan.worker_id or _overlap(plan, other):
            continue
        first, second = sorted((plan, other), key=lambda each: each.start)
        way = question.travel.get((first.place_id, second.place_id), 0)
        gap = second.start - first.start - first.minutes
        if gap < way and not _between(near, first, second):
            found.append(
                Conflict(f"{gap} min are left for {way} min of travel between {first.name} and {second.name}.")
            )
    for each in _loose(question, plan):
        if each.worker_id == plan.worker_id:
            found.append(Conflict(f"{_name(question, plan)} is also at {each.name} that day, at no fixed time."))
    return found


def _of_person(question: Question, plan: Planned) -> list[Conflict]:
    worker = next((worker for worker in question.workers if worker.id == plan.worker_id), None)
    if worker is None:
        return [Conflict("Nobody has said when this person works.")]
    found = []
    hours = worker.week[plan.day.weekday()]
    wish = next((wish for wish in question.wishes if wish.place_id == plan.place_id), None)
    if plan.day in worker.off:
        found.append(Conflict(f"{worker.name} does not work that day: {worker.off[plan.day]}."))
    elif hours is None:
        found.append(Conflict(f"{worker.name} does not work on a {DAYS[plan.day.weekday()]}."))
    elif (
        plan.start - question.travel.get((BASE, plan.place_id), 0) < hours[0]
        or plan.start + plan.minutes + question.travel.get((plan.place_id, BASE), 0) > hours[1]
    ):
        span = describe_span(hours).replace("-", " to ")
        found.append(Conflict(f"With the way there and back it is outside the hours of {worker.name}, {span}."))
    if wish is not None and (missing := wish.skills - worker.skills):
        words = " and ".join(sorted(skill.word for skill in missing))
        found.append(Conflict(f"{worker.name} is not noted as able to test {words}."))
    return found


def _of_place(question: Question, plan: Planned) -> list[Conflict]:
    wish = next((wish for wish in question.wishes if wish.place_id == plan.place_id), None)
    if wish is None:
        return []
    if plan.day in wish.closed:
        return [Conflict(f"It is a bank holiday there: {wish.closed[plan.day]}.")]
    span = wish.week[plan.day.weekday()]
    if span is None:
        return [Conflict(f"The premises cannot be entered on a {DAYS[plan.day.weekday()]}.")]
    if plan.start < span[0] or plan.start + plan.minutes > span[1]:
        return [
            Conflict(f"It is outside the access times of the premises, {describe_span(span).replace('-', ' to ')}.")
        ]
    return []


def _of_instrument(question: Question, plan: Planned) -> list[Conflict]:
    instrument = next((instrument for instrument in question.instruments if instrument.id == plan.instrument_id), None)
    if instrument is None:
        return [Conflict("The instrument is no longer used.", refused=True)]
    return [] if plan.day in instrument.fit else [Conflict(f"{instrument.name} is not fit for use that day.")]


def _loose(question: Question, plan: Planned) -> list[Fixed]:
    return [fixed for fixed in question.fixed if fixed.start is None and fixed.day == plan.day]


def _overlap(one: Planned, other: Planned) -> bool:
    return one.start < other.start + other.minutes and other.start < one.start + one.minutes


def _between(near: Sequence[Planned], first: Planned, second: Planned) -> bool:
    return any(first.start < each.start < second.start and each.worker_id == first.worker_id for each in near)


def _name(question: Question, plan: Planned) -> str:
    return next((worker.name for worker in question.workers if worker.id == plan.worker_id), "The technician")
