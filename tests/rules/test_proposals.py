"""Booking proposals: every rule kept in generated cases, the solver not worse than insertion, and answers that can be
read. What is checked is checked by tests/booking_cases.py, which shares nothing with what works the answers out.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from app.rules.answered_proposals import INSERTED, Answer, describe_answer, suggest_answer
from app.rules.booking_conflicts import Planned, list_conflicts
from app.rules.inserted_proposals import suggest_by_insertion
from app.rules.proposals import Fixed, Instrument, Question, Wish, Worker, number_left_out, total_cost
from app.rules.solved_proposals import suggest_by_solver
from app.rules.travel import BASE
from app.rules.working_times import ANY_TIME, USUAL_WEEK, Skill
from tests.booking_cases import MONDAY, book_greedily, find_faults, make_case

WEEK = tuple(MONDAY + timedelta(days=number) for number in range(5))
TRAVEL = {(one, other): 0 if one == other else 20 for one in range(9) for other in range(9)}


def wish(place: int, due: int = 3, minutes: int = 60, **more: object) -> Wish:
    details = {"dues": ((MONDAY + timedelta(days=due), 10),), "week": ANY_TIME} | more
    return Wish(place, f"Place {place}", minutes, **details)  # type: ignore[arg-type]


def question(*wishes: Wish, **more: object) -> Question:
    worker = Worker(1, "Joss", USUAL_WEEK, frozenset(Skill))
    details = {"workers": (worker,), "instruments": (Instrument(5, "Blue", frozenset(WEEK)),), "fixed": ()} | more
    return Question(WEEK, wishes, travel=TRAVEL, **details)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(100, 106))
def test_generated_cases_keep_every_rule_and_the_solver_is_not_worse(seed: int) -> None:
    case = make_case(seed, people=3, visits=22, weeks=2)
    greedy, inserted, solved = book_greedily(case), suggest_by_insertion(case), suggest_by_solver(case)
    for routes in (greedy, inserted, solved):
        assert find_faults(case, describe_answer(case, routes, "")) == []
    assert total_cost(case, solved) <= total_cost(case, inserted)
    assert total_cost(case, solved) < total_cost(case, greedy)
    assert suggest_answer(case, with_solver=True) == suggest_answer(case, with_solver=True)


@pytest.mark.parametrize("solver", [False, True])
@pytest.mark.parametrize("seed", range(200, 204))
def test_visits_longer_than_a_day_keep_every_rule_among_the_others(seed: int, solver: bool) -> None:
    case = make_case(seed, people=4, visits=16, weeks=4, long=4)
    answer = suggest_answer(case, with_solver=solver)
    assert find_faults(case, answer) == []
    several = [each for each in answer.proposals if each.days]
    assert several and {each.place_id for each in several} <= {1, 2, 3, 4}
    assert all(len(each.days) > 1 and "Longer than a day" in each.reasons[0] for each in several)
    one = several[0]
    others = tuple(each for each in answer.proposals if each is not one)
    for days in (one.days[:-1], (*one.days[:-1], replace(one.days[-1], day=one.days[-1].day + timedelta(days=7)))):
        assert find_faults(case, Answer((*others, replace(one, days=days)), answer.left_out, ""))


def test_a_long_visit_is_given_the_days_that_are_free_and_says_why_there_are_none() -> None:
    """From 8:30 to 17:00 with 15 % free, less 40 minutes of travel, 390 minutes are left of a day: 800 take three."""
    long = wish(1, due=1, minutes=800)
    [one] = suggest_answer(question(long), with_solver=False).proposals
    assert [(each.day, each.start, each.minutes) for each in one.days] == [
        (WEEK[0], 530, 270), (WEEK[1], 530, 270), (WEEK[2], 530, 260)
    ]  # fmt: skip
    assert (one.minutes, one.travel, one.instrument_id) == (800, 120, 5)
    booked = Fixed(7, 2, "Booked", 60, 1, 5, WEEK[1], 600)  # the first three days are not free any more
    [other] = suggest_answer(question(long, fixed=(booked,)), with_solver=True).proposals
    assert [each.day for each in other.days] == list(WEEK[2:])
    fit = (Instrument(5, "Blue", frozenset(WEEK[:2])), Instrument(6, "Red", frozenset(WEEK[3:])))
    for none in (question(long, instruments=fit), question(replace(long, closed={WEEK[2]: "shut"}))):
        answer = suggest_answer(none, with_solver=False)
        assert not answer.proposals and "nobody who could go has enough free days" in answer.left_out[0].reasons[0]


def test_the_check_finds_what_is_broken() -> None:
    case = make_case(100, people=3, visits=22, weeks=2)
    answer = suggest_answer(case, with_solver=False)
    one = next(each for each in answer.proposals if case.wishes[each.place_id - 1].skills)
    others = tuple(each for each in answer.proposals if each is not one)
    unable = replace(case, workers=tuple(replace(worker, skills=frozenset()) for worker in case.workers))
    assert any("lacks a skill" in fault for fault in find_faults(unable, answer))
    assert find_faults(replace(case, workers=tuple(replace(each, off={one.day: ""}) for each in case.workers)), answer)
    assert find_faults(
        replace(case, instruments=tuple(replace(each, fit=frozenset()) for each in case.instruments)), answer
    )
    for broken in (replace(one, start=5), replace(one, day=MONDAY + timedelta(days=6)), replace(one, minutes=1)):
        assert find_faults(case, Answer((*others, broken), answer.left_out, ""))
    other = next(each for each in others if each.day == one.day and each.worker_id != one.worker_id)
    shared = replace(one, instrument_id=other.instrument_id)
    assert any("several hands" in fault for fault in find_faults(case, Answer((*others, shared), answer.left_out, "")))
    assert find_faults(case, Answer(others, answer.left_out, "")) == ["not every visit is told of once"]


@pytest.mark.parametrize("solver", [False, True])
def test_what_is_overdue_comes_first_and_what_is_not_waits_for_its_day(solver: bool) -> None:
    long = 7 * 60 - 60  # with the travel a whole day has room for one
    case = question(wish(1, due=4, minutes=long), wish(2, due=-40, minutes=long), wish(3, due=2, minutes=long))
    days = {each.place_id: each.day for each in suggest_answer(case, solver).proposals}
    assert days == {2: WEEK[0], 3: WEEK[2], 1: WEEK[4]}
    assert number_left_out(wish(2, due=-40), WEEK[-1]) > number_left_out(wish(3, due=2), WEEK[-1])


@pytest.mark.parametrize("solver", [False, True])
def test_one_instrument_sends_one_person_a_day(solver: bool) -> None:
    workers = tuple(Worker(number, f"Person {number}", USUAL_WEEK, frozenset(Skill)) for number in (1, 2))
    shut = dict.fromkeys(WEEK[2:], "closed")
    wishes = [wish(place, due=0, minutes=300, closed=shut) for place in (1, 2, 3)]
    answer = suggest_answer(question(*wishes, workers=workers), solver)
    assert find_faults(question(*wishes, workers=workers), answer) == []
    assert len(answer.proposals) == 2 and len(answer.left_out) == 1
    instruments = (Instrument(5, "Blue", frozenset(WEEK)), Instrument(6, "Green", frozenset(WEEK[:1])))
    assert len(suggest_answer(question(*wishes, workers=workers, instruments=instruments), solver).proposals) == 3


@pytest.mark.parametrize("solver", [False, True])
def test_what_is_booked_stays_where_it_is(solver: bool) -> None:
    booked = tuple(Fixed(number, 8, "Booked", 180, 1, 5, day, 570) for number, day in enumerate(WEEK))
    answer = suggest_answer(question(wish(1, minutes=240), wish(2, minutes=90), fixed=booked), solver)
    assert {each.place_id for each in answer.left_out} == {1}
    (only,) = answer.proposals
    assert only.start >= 570 + 180 + 20 or only.start + 90 + 20 <= 570
    assert "no room for 4 h 00 min" in answer.left_out[0].reasons[0]


def test_reasons_say_why_then_and_why_not() -> None:
    shut = wish(3, closed=dict.fromkeys(WEEK, "Easter Monday"))
    able = Worker(2, "Wren", (None, (540, 960), *USUAL_WEEK[2:]), frozenset({Skill.MICROWAVE}))
    case = question(
        wish(1, due=1, week=((600, 720),) * 7),
        wish(2, due=1, skills=frozenset({Skill.THREE_PHASE})),
        shut,
        wish(4, minutes=6000),
        wish(5, skills=frozenset({Skill.MICROWAVE, Skill.AFTER_REPAIR})),
        wish(6, earliest=WEEK[4] + timedelta(days=9)),
        workers=(Worker(1, "Joss", USUAL_WEEK, frozenset({Skill.THREE_PHASE})), able),
        instruments=(Instrument(5, "Blue", frozenset(WEEK)), Instrument(6, "Green", frozenset(WEEK))),
    )
    answer = suggest_answer(case, with_solver=False)
    told = {each.place_id: " ".join(each.reasons) for each in answer.proposals}
    told |= {each.place_id: " ".join(each.reasons) for each in answer.left_out}
    assert answer.method == INSERTED
    assert "Due on that very day, 31 Mar 2026." in told[1] and "Access on Tuesday 10:00 to 12:00." in told[1]
    assert "With three-phase equipment, which Joss can test." in told[2] and "min" in told[2]
    assert "No day of these weeks is open for it. Closed: 1 Apr 2026 (Easter Monday)" in told[3]
    assert "It takes 100 h 00 min and 40 min of travel; the longest day has room for 7 h 13 min, and nobody" in told[4]
    assert told[5] == "With items after a repair and microwave ovens; nobody has all of these skills."
    assert "It would be too early before 12 Apr 2026." in told[6]


def test_conflicts_tell_double_bookings_from_what_somebody_may_know_better() -> None:
    booked = (Fixed(1, 8, "Brewhouse", 120, 1, 5, WEEK[0], 600), Fixed(2, 7, "Workshop", 60, 2, 6, WEEK[1], None))
    people = (
        Worker(1, "Joss", USUAL_WEEK, frozenset(), {WEEK[3]: "course"}),
        Worker(2, "Wren", USUAL_WEEK, frozenset(Skill)),
    )
    instruments = (Instrument(5, "Blue", frozenset(WEEK[:2])), Instrument(6, "Green", frozenset(WEEK)))
    needs = wish(1, skills=frozenset({Skill.THREE_PHASE}), week=((540, 720),) * 4 + (None,) * 3)
    case = question(needs, workers=people, instruments=instruments, fixed=booked)

    def told(worker: int, instrument: int, day: int, start: int, *others: Planned) -> list[tuple[bool, str]]:
        plan = Planned(9, 1, "Place 1", 60, worker, instrument, WEEK[day], start)
        return [(each.refused, each.sentence) for each in list_conflicts(case, plan, others)]

    assert told(2, 6, 0, 600) == []
    assert (True, "Joss is at Brewhouse from 10:00 to 12:00.") in told(1, 5, 0, 660)
    assert (True, "The instrument is with somebody else that day, at Brewhouse.") in told(2, 5, 0, 540)
    assert (True, "The instrument is with somebody else that day, at Workshop.") in told(1, 6, 1, 540)
    assert (False, "5 min are left for 20 min of travel between Brewhouse and Place 1.") in told(1, 5, 0, 725)
    assert (False, "Wren is also at Workshop that day, at no fixed time.") in told(2, 6, 1, 600)
    assert (False, "Joss does not work that day: course.") in told(1, 6, 3, 600)
    assert (False, "Joss is not noted as able to test three-phase equipment.") in told(1, 6, 2, 600)
    assert (False, "Blue is not fit for use that day.") in told(1, 5, 2, 600)
    assert (False, "The premises cannot be entered on a Friday.") in told(2, 6, 4, 600)
    assert (False, "It is outside the access times of the premises, 09:00 to 12:00.") in told(2, 6, 2, 690)
    assert (False, "With the way there and back it is outside the hours of Wren, 08:30 to 17:00.") in told(2, 6, 2, 510)
    other = Planned(10, 2, "Place 2", 60, 2, 6, WEEK[2], 630)
    assert (True, "Wren is at Place 2 from 10:30 to 11:30.") in told(2, 6, 2, 600, other)
    assert case.travel[BASE, 1] == 20
