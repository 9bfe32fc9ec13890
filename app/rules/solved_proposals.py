"""Booking proposals by VROOM, an open solver of routing problems; its package `pyvroom` is an optional extra.

Each person's day is one vehicle. What a visit costs on a day is told as the cost of getting to it on that day, so that
travel and due dates are weighed together. What VROOM cannot be told (instruments in fewer hands than people, hours of a
week) is asked for again with fewer people, and what still breaks a rule is placed by insertion.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import date
from importlib.util import find_spec
from typing import Any

from app.rules.inserted_proposals import suggest_by_insertion, suggest_from_orders
from app.rules.proposals import (
    SETTING_OUT,
    Part,
    Question,
    Route,
    Worker,
    number_day_cost,
    number_fixed_route,
    number_left_out,
    number_open,
    number_route,
    total_cost,
)
from app.rules.travel import BASE

#: How thoroughly VROOM looks, 0 to 5; at 2 a month of eight people takes one to two seconds.
THOROUGH = 2
TRIES = 3
DAY = 24 * 60

Key = tuple[int, date]
Orders = dict[Key, Sequence[Part]]


def has_solver() -> bool:
    """Whether the solver is installed."""
    return find_spec("vroom") is not None


def suggest_by_solver(question: Question) -> tuple[Route, ...]:
    """Suggest the days of everybody by the solver, never worse than by insertion. Raises ImportError without it."""
    answers = [suggest_by_insertion(question)]
    if question.wishes:
        barred: set[Key] = set()
        for _ in range(TRIES):
            orders = _solve(question, barred)
            answers.append(suggest_from_orders(question, orders))
            if not (over := _list_over(question, orders)):
                break
            barred |= over
    return min(answers, key=lambda routes: total_cost(question, routes))


def _solve(question: Question, barred: set[Key]) -> Orders:
    import vroom  # takes a while to load, so only where it is used

    places = sorted({place for pair in question.travel for place in pair})
    at = {place: number for number, place in enumerate(places)}
    problem = vroom.Input()
    for number, day in enumerate(question.days):
        travel, costs = _matrices(question, places, at, day)
        problem.set_durations_matrix(str(number), travel)
        problem.set_costs_matrix(str(number), costs)
    own_skill: dict[Key, int] = {}
    vehicles: list[Key] = []
    for worker in question.workers:
        skills = _skills(question, worker)
        for number, day in enumerate(question.days):
            fixed = question.fixed_by_day.get((worker.id, day), ())
            plain = number_fixed_route(question, worker, day)
            hours = worker.week[day.weekday()]
            if plain is None or hours is None or (worker.id, day) in barred:
                continue
            own_skill[worker.id, day] = len(question.wishes) + 1 + len(vehicles)
            kept = (hours[1] - hours[0]) - (hours[1] - hours[0]) * (100 - question.free_percent) // 100
            begins, ends = _moment(number, hours[0]), _moment(number, hours[1])
            pause = vroom.Break(1, time_windows=[vroom.TimeWindow(begins, ends)], service=kept * 60)
            problem.add_vehicle(
                vroom.Vehicle(
                    len(vehicles),
                    start=at[BASE],
                    end=at[BASE],
                    profile=str(number),
                    time_window=(begins, ends),
                    skills=skills | {own_skill[worker.id, day]},
                    breaks=[pause] if kept else [],
                    costs=vroom.VehicleCosts(fixed=0 if fixed else SETTING_OUT),
                )
            )
            vehicles.append((worker.id, day))
    jobs = _add_jobs(problem, vroom, question, at, own_skill)
    if not vehicles or not jobs:
        return {}
    told = problem.solve(exploration_level=THOROUGH, nb_threads=1).to_dict()
    return {
        vehicles[route["vehicle"]]: [jobs[step["id"]] for step in route["steps"] if step["type"] == "job"]
        for route in told["routes"]
    }


def _matrices(question: Question, places: Sequence[int], at: dict[int, int], day: date) -> tuple[Any, Any]:
    import numpy

    minutes = [[question.travel[one, other] for other in places] for one in places]
    travel = numpy.array(minutes, dtype=numpy.uint32)
    costs = travel.copy()
    for wish in question.wishes:
        costs[:, at[wish.place_id]] += number_day_cost(wish, day, question.days[0])
    return travel * 60, costs


def _add_jobs(
    problem: Any, vroom: Any, question: Question, at: dict[int, int], own_skill: dict[Key, int]
) -> list[Part]:
    jobs: list[Part] = []
    pressing = {wish.place_id: number_left_out(wish, question.days[-1]) for wish in question.wishes}
    ranks = {cost: rank for rank, cost in enumerate(sorted(set(pressing.values())))}
    for skill, wish in enumerate(question.wishes):
        able = [worker for worker in question.workers if wish.skills <= worker.skills]
        spans = {
            number: open_for
            for number, day in enumerate(question.days)
            for worker in able[:1]
            if (open_for := number_open(wish, worker, day)) is not None and open_for[1] - open_for[0] >= wish.minutes
        }
        if not spans:
            continue
        windows = [
            vroom.TimeWindow(_moment(number, begins), _moment(number, ends - wish.minutes))
            for number, (begins, ends) in spans.items()
        ]
        job = vroom.Job(
            len(jobs),
            location=at[wish.place_id],
            default_service=wish.minutes * 60,
            skills={skill},
            priority=20 + 60 * ranks[pressing[wish.place_id]] // len(ranks),
            time_windows=windows,
        )
        problem.add_job(job)
        jobs.append(wish)
    numbers = {day: number for number, day in enumerate(question.days)}
    for key, skill in own_skill.items():
        for fixed in question.fixed_by_day.get(key, ()):
            begins = _moment(numbers[fixed.day], 0 if fixed.start is None else fixed.start)
            ends = begins if fixed.start is not None else begins + DAY * 60
            problem.add_job(
                vroom.Job(
                    len(jobs),
                    location=at[fixed.place_id],
                    default_service=fixed.minutes * 60,
                    skills={skill},
                    priority=100,
                    time_windows=[vroom.TimeWindow(begins, ends)],
                )
            )
            jobs.append(fixed)
    return jobs


def _skills(question: Question, worker: Worker) -> set[int]:
    return {number for number, wish in enumerate(question.wishes) if wish.skills <= worker.skills}


def _moment(number: int, minutes: int) -> int:
    return (number * DAY + minutes) * 60


def _list_over(question: Question, orders: Orders) -> set[Key]:
    """The days of people who have the least to do where instruments or hours of the week do not reach for all."""
    busy: dict[Key, int] = {}
    workers = {worker.id: worker for worker in question.workers}
    for (worker_id, day), order in orders.items():
        route = number_route(question, workers[worker_id], day, order)
        if any(part in question.wishes for part in order):
            busy[worker_id, day] = route.busy if route else sum(part.minutes for part in order)
    over: set[Key] = set()
    taking = defaultdict(list)
    weeks: Counter[Key] = Counter()
    for (worker_id, day), minutes in sorted(busy.items(), key=lambda each: (-each[1], each[0])):
        week = (worker_id, date.fromordinal(day.toordinal() - day.weekday()))
        weeks[week] += minutes
        most = workers[worker_id].week_minutes_most
        if most is not None and weeks[week] > most:
            over.add((worker_id, day))
            weeks[week] -= minutes
        elif worker_id not in question.holders.get(day, {}):
            taking[day].append((worker_id, day))
    for day, keys in taking.items():
        over |= set(keys[len(question.free_instruments[day]) :])
    return over
