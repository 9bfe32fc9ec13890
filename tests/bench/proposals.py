"""Fifty generated months of bookings: the solver against plain insertion and against a diary, in one run."""

import time
from collections.abc import Iterator

from app.rules.answered_proposals import describe_answer
from app.rules.inserted_proposals import suggest_by_insertion
from app.rules.proposals import number_day_cost, total_cost
from app.rules.solved_proposals import suggest_by_solver
from tests.booking_cases import book_greedily, find_faults, make_case

CASES = 50
WAYS = {"a diary": book_greedily, "insertion": suggest_by_insertion, "solver": suggest_by_solver}


def measure() -> Iterator[tuple[str, float]]:
    """Answer every case in each way; stop where an answer breaks a rule or the solver is worse than insertion."""
    took = dict.fromkeys(WAYS, 0.0)
    longest = dict.fromkeys(WAYS, 0.0)
    left, travel, waiting, costs = ({name: [0] * CASES for name in WAYS} for _ in range(4))
    for seed in range(CASES):
        question = make_case(seed)
        for name, suggest in WAYS.items():
            began = time.perf_counter()
            routes = suggest(question)
            spent = time.perf_counter() - began
            took[name], longest[name] = took[name] + spent, max(longest[name], spent)
            answer = describe_answer(question, routes, name)
            assert (faults := find_faults(question, answer)) == [], f"case {seed}, {name}: {faults}"
            wishes = {wish.place_id: wish for wish in question.wishes}
            left[name][seed] = len(answer.left_out)
            travel[name][seed] = sum(route.travel for route in routes)
            waiting[name][seed] = sum(
                number_day_cost(wishes[each.place_id], each.day, question.days[0]) for each in answer.proposals
            )
            costs[name][seed] = total_cost(question, routes)
        assert costs["solver"][seed] <= costs["insertion"][seed], f"case {seed}: the solver is worse"
    for name in WAYS:
        hours, wait = sum(travel[name]) / 60, sum(waiting[name])
        what = f"{name}: {sum(left[name])} left out, {hours:.0f} h of travel, {wait:,} for early and late days"
        yield f"{what}; at most {longest[name]:.1f} s a case", took[name]
    for other in ("a diary", "insertion"):
        better = sum(mine < theirs for mine, theirs in zip(costs["solver"], costs[other], strict=True))
        saved = 1 - sum(travel["solver"]) / sum(travel[other])
        whole = 1 - sum(costs["solver"]) / sum(costs[other])
        yield f"solver against {other}: better in {better} of {CASES}, {saved:.0%} of travel, {whole:.0%} in all", 0.0
