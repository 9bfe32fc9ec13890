"""Plain insertion: one visit after the other, the most pressing first, each where it costs least at that moment.

It never takes anything back, so it finds a fair answer at once and not the best one. What a solver's answer breaks is
put right with it too.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import date

from app.rules.proposals import (
    Fixed,
    Part,
    Question,
    Route,
    Wish,
    Worker,
    number_fixed_route,
    number_left_out,
    number_route,
    number_route_cost,
)


class Plan:
    """The days of everybody while they are being filled."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.routes: dict[tuple[int, date], Route] = {}
        self.taking: Counter[date] = Counter()  # who takes one of the instruments that nobody holds, by day
        self.week_minutes: Counter[tuple[int, date]] = Counter()
        for worker in question.workers:
            for day in question.days:
                if (route := number_fixed_route(question, worker, day)) is not None:
                    self._keep(route)

    def may_take(self, route: Route) -> bool:
        """Whether the instruments of the day and the person's hours of the week allow a route instead of it."""
        key = (route.worker.id, route.day)
        now = self.routes.get(key)
        most = route.worker.week_minutes_most
        week = self.week_minutes[route.worker.id, route.week] - (now.busy if now else 0)
        if most is not None and route.wishes and week + route.busy > most:
            return False
        holds = route.worker.id in self.question.holders.get(route.day, {})
        if holds or not route.wishes or (now and now.wishes):
            return True
        return self.taking[route.day] < len(self.question.free_instruments[route.day])

    def take(self, route: Route) -> None:
        """Put a route in place of the present one of that person and day."""
        self._drop((route.worker.id, route.day))
        self._keep(route)

    def may_insert(self, wish: Wish, worker: Worker, day: date) -> tuple[int, Route] | None:
        """The cheapest route of a day with one more visit, after what it adds; nothing where there is no room."""
        now = self.routes.get((worker.id, day))
        if now is None or wish.week[day.weekday()] is None or not wish.skills <= worker.skills:
            return None
        first, best = self.question.days[0], None
        before = number_route_cost(now, first)
        for place in range(len(now.parts) + 1):
            order = (*now.order[:place], wish, *now.order[place:])
            route = number_route(self.question, worker, day, order)
            if route is not None and self.may_take(route):
                found = (number_route_cost(route, first) - before, route)
                best = min(best, found, key=lambda pair: pair[0]) if best else found
        return best

    def insert(self, wishes: Sequence[Wish]) -> None:
        """Place as many visits as there is room for, the most pressing first, then the longest."""
        last = self.question.days[-1]
        for wish in sorted(wishes, key=lambda wish: (-number_left_out(wish, last), wish.due_on, -wish.minutes)):
            found = [
                (*inserted, number)
                for number, (worker_id, day) in enumerate(self.routes)
                if (inserted := self.may_insert(wish, self.routes[worker_id, day].worker, day)) is not None
            ]
            if found:
                self.take(min(found, key=lambda one: (one[0], one[2]))[1])

    def _keep(self, route: Route) -> None:
        self.routes[route.worker.id, route.day] = route
        self._count(route, 1)

    def _drop(self, key: tuple[int, date]) -> None:
        if (route := self.routes.pop(key, None)) is not None:
            self._count(route, -1)

    def _count(self, route: Route, by: int) -> None:
        self.week_minutes[route.worker.id, route.week] += by * route.busy
        if route.wishes and route.worker.id not in self.question.holders.get(route.day, {}):
            self.taking[route.day] += by


def suggest_by_insertion(question: Question) -> tuple[Route, ...]:
    """Suggest the days of everybody by plain insertion."""
    plan = Plan(question)
    plan.insert(question.wishes)
    return tuple(plan.routes.values())


def suggest_from_orders(question: Question, orders: dict[tuple[int, date], Sequence[Part]]) -> tuple[Route, ...]:
    """Suggest the days of everybody from orders that may break a rule here and there: what does is placed anew."""
    plan, left = Plan(question), {wish.place_id: wish for wish in question.wishes}
    for key, order in sorted(orders.items(), key=lambda each: (each[0][1], each[0][0])):
        now = plan.routes.get(key)
        if now is None or {part for part in order if isinstance(part, Fixed)} != {*now.order}:
            continue
        route = number_route(question, now.worker, key[1], order)
        if route is not None and plan.may_take(route):
            plan.take(route)
            for each in route.wishes:
                left.pop(each.part.place_id)
    plan.insert(tuple(left.values()))
    return tuple(plan.routes.values())
