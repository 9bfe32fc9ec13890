"""Generated questions of bookings, and a check of answers that shares nothing with what worked them out.

Everything is invented: places on a plane, people with their hours, skills and days off, premises with access times,
visits that are booked already, instruments that fall out of calibration.
"""

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from math import dist
from random import Random

from app.rules.answered_proposals import Answer, Proposal
from app.rules.inserted_proposals import Plan
from app.rules.proposals import Fixed, Instrument, Question, Route, Wish, Worker, number_route
from app.rules.travel import BASE
from app.rules.working_times import ANY_TIME, Skill, Week

MONDAY = date(2026, 3, 30)


def make_case(seed: int, people: int = 8, visits: int = 60, weeks: int = 4, long: int = 0) -> Question:
    """One question; Good Friday and Easter Monday 2026 lie in it. long: how many visits no day is long enough for."""
    random = Random(seed)
    days = tuple(MONDAY + timedelta(days=number) for number in range(7 * weeks) if number % 7 < 5)
    bank = {date(2026, 4, 3): "Good Friday", date(2026, 4, 6): "Easter Monday"}
    at = {BASE: (40.0, 40.0)} | {
        place: (random.uniform(0, 80), random.uniform(0, 80)) for place in range(1, visits + 6)
    }
    travel = {
        (one, other): 0 if one == other else 5 + int(dist(here, there) * 0.9) // 5 * 5
        for one, here in at.items()
        for other, there in at.items()
    }
    workers = []
    for number in range(people):
        week: Week = ((random.choice((480, 510, 540)), random.choice((960, 1020, 1050))),) * 5 + (None, None)
        if random.random() < 0.25:
            week = (*week[:4], None, None, None)
        first = random.choice(days)
        off = dict(bank) | {day: "holiday" for day in days if number % 3 == 0 and 0 <= (day - first).days < 7}
        skills = frozenset(skill for skill in Skill if random.random() < 0.6)
        most = random.choice((None, None, 30 * 60))
        workers.append(Worker(100 + number, f"Person {number}", week, skills, off, most, 200 + number))
    workers[0] = Worker(100, "Person 0", workers[0].week, frozenset(Skill), workers[0].off, None, 200)
    cut = random.choice(days[5:])
    instruments = tuple(
        Instrument(200 + number, f"Instrument {number}", frozenset(day for day in days if number or day < cut))
        for number in range(people - (random.random() < 0.5))
    )
    wishes = []
    for place in range(1, visits + 1):
        access: Week = ANY_TIME
        if random.random() < 0.4:
            access = (random.choice(((540, 780), (780, 1020), (570, 930))),) * 5 + (None, None)
            access = tuple(span if random.random() < 0.8 else None for span in access)
        first = MONDAY + timedelta(days=random.randrange(-60, 45))
        dues = tuple(
            sorted((first + timedelta(days=random.randrange(0, 21)), random.randrange(3, 30)) for _ in range(2))
        )
        needs = frozenset(skill for skill in Skill if random.random() < 0.12)
        minutes = random.choice((45, 60, 90, 120, 150, 180, 240))
        if place <= long:
            minutes = random.choice((760, 1005, 1500, 2220))
        wishes.append(
            Wish(place, f"Place {place}", minutes, dues, access, needs, bank, dues[0][0] - timedelta(days=30))
        )
    fixed = []
    for number in range(people):
        worker = workers[number]
        day = random.choice([day for day in days if day not in worker.off and worker.week[day.weekday()]])
        start = random.choice((None, 600, 660))
        instrument = random.choice(instruments)
        fixed.append(
            Fixed(number + 1, visits + 1 + number % 5, "Booked place", 90, worker.id, instrument.id, day, start)
        )
    return Question(days, tuple(wishes), tuple(workers), instruments, tuple(fixed), travel, 15)


def find_faults(question: Question, answer: Answer) -> list[str]:
    """Everything that an answer breaks, worked out from its times alone."""
    faults = []
    wishes = {wish.place_id: wish for wish in question.wishes}
    workers = {worker.id: worker for worker in question.workers}
    told = [each.place_id for each in answer.proposals] + [each.place_id for each in answer.left_out]
    if sorted(told) != sorted(wishes):
        faults.append("not every visit is told of once")
    by_day: dict[tuple[int, date], list[Proposal]] = defaultdict(list)
    parts = []
    for each in answer.proposals:
        wish, worker = wishes[each.place_id], workers[each.worker_id]
        held = [(one.day, one.start, one.minutes) for one in each.days] or [(each.day, each.start, each.minutes)]
        if each.minutes != wish.minutes or sum(minutes for _, _, minutes in held) != wish.minutes:
            faults.append(f"{wish.name} has another length")
        if held[0][:2] != (each.day, each.start) or len({day for day, _, _ in held}) != len(held):
            faults.append(f"{wish.name} does not begin when it says, or is twice on a day")
        between = [each.day + timedelta(days=number) for number in range((held[-1][0] - each.day).days + 1)]
        works = [day for day in between if day not in worker.off and worker.week[day.weekday()] is not None]
        if [day for day, _, _ in held] != works:
            faults.append(f"{wish.name} is not on one working day of {worker.name} after the other")
        parts += [replace(each, day=day, start=start or 0, minutes=minutes) for day, start, minutes in held]
    for each in parts:
        wish, worker = wishes[each.place_id], workers[each.worker_id]
        by_day[each.worker_id, each.day].append(each)
        if each.day not in question.days or each.day in worker.off or worker.week[each.day.weekday()] is None:
            faults.append(f"{worker.name} does not work on {each.day}")
        access = wish.week[each.day.weekday()]
        if access is None or each.day in wish.closed or each.day < wish.earliest:
            faults.append(f"{wish.name} is closed on {each.day}")
        elif each.start < access[0] or each.start + each.minutes > access[1]:
            faults.append(f"{wish.name} is outside its access times")
        if wish.skills - worker.skills:
            faults.append(f"{worker.name} lacks a skill for {wish.name}")
    fit = {instrument.id: instrument.fit for instrument in question.instruments}
    weeks: dict[tuple[int, tuple[int, int]], int] = defaultdict(int)
    handed: dict[tuple[date, int], set[int]] = defaultdict(set)
    for fixed in question.fixed:
        handed[fixed.day, fixed.instrument_id].add(fixed.worker_id)
    loaded = set(by_day) | {(fixed.worker_id, fixed.day) for fixed in question.fixed}
    proposing = {(key[0], key[1].isocalendar()[:2]) for key in by_day}
    for worker_id, day in loaded:
        busy, problems = _day(question, worker_id, day, by_day.get((worker_id, day), []))
        weeks[worker_id, day.isocalendar()[:2]] += busy
        if (worker_id, day) in by_day:
            faults += problems
        for each in by_day.get((worker_id, day), []):
            handed[day, each.instrument_id].add(worker_id)
            if day not in fit[each.instrument_id]:
                faults.append(f"instrument {each.instrument_id} is not fit on {day}")
    for (day, instrument_id), holders in handed.items():
        fixed_holders = {
            each.worker_id for each in question.fixed if (each.day, each.instrument_id) == (day, instrument_id)
        }
        if len(holders) > 1 and holders != fixed_holders:
            faults.append(f"instrument {instrument_id} is in several hands on {day}")
    for key, busy in weeks.items():
        most = workers[key[0]].week_minutes_most
        if most is not None and busy > most and key in proposing:
            faults.append(f"{workers[key[0]].name} has more than {most} minutes in a week")
    return faults


def _day(question: Question, worker_id: int, day: date, proposals: list[Proposal]) -> tuple[int, list[str]]:
    """How long a day is with its travel, and what is wrong with it; bookings without a time go wherever they fit."""
    worker = next(worker for worker in question.workers if worker.id == worker_id)
    hours = worker.week[day.weekday()]
    booked = [fixed for fixed in question.fixed if (fixed.worker_id, fixed.day) == (worker_id, day)]
    stops = [(each.start, each.minutes, each.place_id) for each in proposals]
    stops += [(each.start, each.minutes, each.place_id) for each in booked if each.start is not None]
    loose = [each for each in booked if each.start is None]
    if hours is None:
        return 0, [f"{worker.name} does not work on {day}"]
    best: tuple[int, list[str]] | None = None
    for places in _placings(len(loose), len(stops)):
        tried = _drive(question, hours, sorted(stops), [(loose[number], place) for number, place in enumerate(places)])
        if best is None or (len(tried[1]), tried[0]) < (len(best[1]), best[0]):
            best = tried
    assert best is not None
    most = (hours[1] - hours[0]) * (100 - question.free_percent) // 100
    if best[0] > most:
        best[1].append(f"{worker.name} has no share of {day} kept free")
    return best


def _placings(loose: int, stops: int) -> list[tuple[int, ...]]:
    found: list[tuple[int, ...]] = [()]
    for _ in range(loose):
        found = [(*one, place) for one in found for place in range(stops + 1)]
    return found


def _drive(
    question: Question, hours: tuple[int, int], stops: list[tuple[int, int, int]], loose: list[tuple[Fixed, int]]
) -> tuple[int, list[str]]:
    clock, at, busy, faults = hours[0], BASE, 0, []
    for number in range(len(stops) + 1):
        for fixed, place in loose:
            if place == number:
                way = question.travel[at, fixed.place_id]
                clock, at, busy = clock + way + fixed.minutes, fixed.place_id, busy + way + fixed.minutes
        if number < len(stops):
            start, minutes, place_id = stops[number]
            way = question.travel[at, place_id]
            if clock + way > start:
                faults.append(f"nobody can be at {place_id} at {start}")
            clock, at, busy = start + minutes, place_id, busy + way + minutes
    home = question.travel[at, BASE]
    if clock + home > hours[1]:
        faults.append("the day ends after its hours")
    return busy + home, faults


def book_greedily(question: Question) -> tuple[Route, ...]:
    """What somebody with a diary does: by due date, each on the first day, with the first person, as the last visit."""
    plan = Plan(question)
    for wish in sorted(question.wishes, key=lambda wish: wish.due_on):
        ends = (
            number_route(question, now.worker, now.day, (*now.order, wish))
            for now in sorted(plan.routes.values(), key=lambda route: (route.day, route.worker.id))
        )
        if (first := next((route for route in ends if route is not None and plan.may_take(route)), None)) is not None:
            plan.take(first)
    return tuple(plan.routes.values())
