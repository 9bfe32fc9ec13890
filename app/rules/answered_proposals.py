"""The answer to a question of bookings: each visit with its reasons, and what found no place with its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.rules.block_proposals import Block, suggest_blocks
from app.rules.held_days import HeldDay
from app.rules.inserted_proposals import suggest_by_insertion
from app.rules.paces import describe_duration
from app.rules.proposals import Question, Route, Timed, Wish, number_open
from app.rules.solved_proposals import has_solver, suggest_by_solver
from app.rules.travel import BASE
from app.rules.working_times import DAYS, describe_span

#: A gap before a visit is told from so many minutes on.
WAIT_TOLD = 60
SOLVED = "Worked out by a solver (VROOM), which weighs all visits against each other."
INSERTED = (
    "Worked out by plain insertion: one visit after the other, the most pressing first, each where it costs least at"
    " that moment. It takes nothing back, so a solver would find shorter ways."
)


@dataclass(frozen=True)
class Proposal:
    """One visit as it is proposed. start: minutes after midnight; travel: the minutes that it adds to the day.

    days: what it holds of each day, where it takes several; day and start are those of the first, minutes all together.
    """

    place_id: int
    worker_id: int
    instrument_id: int
    day: date
    start: int
    minutes: int
    travel: int
    reasons: tuple[str, ...] = ()
    due_until: date | None = None
    days: tuple[HeldDay, ...] = ()


@dataclass(frozen=True)
class LeftOut:
    """A visit that found no place, and why."""

    place_id: int
    minutes: int
    reasons: tuple[str, ...]
    due_until: date | None = None


@dataclass(frozen=True)
class Answer:
    """What is proposed, in the order of days, people and times; what is left out; how it was worked out."""

    proposals: tuple[Proposal, ...]
    left_out: tuple[LeftOut, ...]
    method: str


def suggest_answer(question: Question, with_solver: bool | None = None) -> Answer:
    """Answer a question with the solver where it is installed, else by insertion. with_solver: which of the two.

    What is longer than a day is placed first, by insertion, and then stays.
    """
    solves = has_solver() if with_solver is None else with_solver
    rest, blocks = suggest_blocks(question)
    routes = suggest_by_solver(rest) if solves else suggest_by_insertion(rest)
    return describe_answer(rest, routes, SOLVED if solves else INSERTED, blocks)


def describe_answer(question: Question, routes: Sequence[Route], method: str, blocks: Sequence[Block] = ()) -> Answer:
    """Turn the days of everybody into proposals with an instrument each and their reasons.

    blocks: what was placed on several days before; the question has their days as booked.
    """
    instruments = _instruments(question, routes)
    proposals = [_block(question, block) for block in blocks]
    proposals += [
        Proposal(
            each.part.place_id,
            route.worker.id,
            instruments[route.worker.id, route.day],
            route.day,
            each.start,
            each.part.minutes,
            _added(question, route, place),
            _reasons(question, route, place, each.part),
            each.part.due_until,
        )
        for route in routes
        for place, each in enumerate(route.parts)
        if isinstance(each.part, Wish)
    ]
    proposals.sort(key=lambda each: (each.day, each.worker_id, each.start))
    placed = {each.place_id for each in proposals}
    left = [wish for wish in question.wishes if wish.place_id not in placed]
    return Answer(
        tuple(proposals),
        tuple(LeftOut(wish.place_id, wish.minutes, _why_left(question, wish), wish.due_until) for wish in left),
        method,
    )


def _instruments(question: Question, routes: Sequence[Route]) -> dict[tuple[int, date], int]:
    """Who takes which instrument on a day: what is booked for the person, then the usual one, then any that is fit."""
    found: dict[tuple[int, date], int] = {}
    days: dict[date, list[Route]] = {}
    for route in routes:
        if route.wishes:
            days.setdefault(route.day, []).append(route)
    for day, going in days.items():
        free = list(question.free_instruments.get(day, ()))
        waiting = []
        for route in going:
            held = question.holders.get(day, {}).get(route.worker.id)
            own = held or (route.worker.instrument_id if route.worker.instrument_id in free else None)
            if own is None:
                waiting.append(route)
                continue
            found[route.worker.id, day] = own
            if own in free:
                free.remove(own)
        usual = {worker.instrument_id for worker in question.workers}
        free.sort(key=lambda instrument_id: instrument_id in usual)
        for route, instrument_id in zip(waiting, free, strict=False):
            found[route.worker.id, day] = instrument_id
    return found


def _block(question: Question, block: Block) -> Proposal:
    wish, first, last = block.wish, block.days[0], block.days[-1].day
    sentences = (
        f"Longer than a day, so on {len(block.days)} working days up to {_say(last)},"
        f" {describe_duration(first.minutes)} a day at most.",
        "Placed before the visits of a day, where it cost least then; no solver has weighed it against the others.",
        _due_by(question, last, wish),
        f"{block.travel} min of travel in all.",
        _skill(question, wish),
    )
    return Proposal(
        wish.place_id,
        block.worker.id,
        block.instrument_id,
        first.day,
        first.start or 0,
        wish.minutes,
        block.travel,
        tuple(sentence for sentence in sentences if sentence),
        wish.due_until,
        block.days,
    )


def _added(question: Question, route: Route, place: int) -> int:
    before, at, after = _neighbours(route, place)
    travel = question.travel
    one, other = (before.part.place_id if before else BASE), (after.part.place_id if after else BASE)
    return travel[one, at.part.place_id] + travel[at.part.place_id, other] - travel[one, other]


def _neighbours(route: Route, place: int) -> tuple[Timed | None, Timed, Timed | None]:
    parts = route.parts
    return (parts[place - 1] if place else None), parts[place], (parts[place + 1] if place + 1 < len(parts) else None)


def _reasons(question: Question, route: Route, place: int, wish: Wish) -> tuple[str, ...]:
    return tuple(
        sentence
        for sentence in (
            _due_by(question, route.day, wish),
            _way(question, route, place),
            _access(route, wish),
            _skill(question, wish),
        )
        if sentence
    )


def _due_by(question: Question, day: date, wish: Wish) -> str:
    """What is early or late where a visit is made by a day."""
    late = sum(count for due, count in wish.dues if due < day)
    first, days = wish.due_on, (day - wish.due_on).days
    items = f"{late} of {wish.items} items" if late < wish.items else "1 item" if late == 1 else f"all {late} items"
    if first < question.days[0]:
        overdue = sum(count for due, count in wish.dues if due < question.days[0])
        already = items if overdue == late else f"{overdue} of {wish.items} items already, {late} by then"
        return f"Overdue since {_say(first)} ({already}), so it presses."
    if late:
        return f"Due from {_say(first)}: {items} will be up to {_days(days)} late."
    if days == 0:
        return f"Due on that very day, {_say(first)}."
    return f"{_days(-days)} before the first item falls due on {_say(first)}; nothing is late."


def _way(question: Question, route: Route, place: int) -> str:
    before, at, after = _neighbours(route, place)
    if before is None and after is None:
        return f"The only visit of {route.worker.name} that day: {_there(question, at)} each way."
    added = _added(question, route, place)
    ways = []
    free = 0
    if before is not None:
        ways.append(f"{at.travel} min from {before.part.name}")
        free = at.start - before.start - before.part.minutes - at.travel
    if after is not None:
        ways.append(f"{after.travel} min on to {after.part.name}")
    wait = f" {describe_duration(free)} before it are free." if free >= WAIT_TOLD else ""
    return f"{' and '.join(ways)}; it adds {added} min of travel to the day.{wait}"


def _there(question: Question, at: Timed) -> str:
    return f"{question.travel[BASE, at.part.place_id]} min"


def _access(route: Route, wish: Wish) -> str:
    span = wish.week[route.day.weekday()]
    if span is None or span == (0, 1440):
        return ""
    return f"Access on {DAYS[route.day.weekday()]} {describe_span(span).replace('-', ' to ')}."


def _skill(question: Question, wish: Wish) -> str:
    able = [worker for worker in question.workers if wish.skills <= worker.skills]
    if not wish.skills or len(able) == len(question.workers):
        return ""
    words = " and ".join(sorted(skill.word for skill in wish.skills))
    return f"With {words}, which {_names([worker.name for worker in able])} can test."


def _why_left(question: Question, wish: Wish) -> tuple[str, ...]:
    """The first rule that leaves no day at all, else that all are full."""
    if not question.workers:
        return ("Nobody who can be sent works in these weeks.",)
    able = [worker for worker in question.workers if wish.skills <= worker.skills]
    if not able:
        words = " and ".join(sorted(skill.word for skill in wish.skills))
        return (f"With {words}; nobody has all of these skills.",)
    working = [
        (worker, day, hours)
        for worker in able
        for day in question.days
        if day not in worker.off and (hours := worker.week[day.weekday()]) is not None
    ]
    if not working:
        return (f"{_names([worker.name for worker in able])} can test there, but does not work in these weeks.",)
    most = max((hours[1] - hours[0]) * (100 - question.free_percent) // 100 for _, _, hours in working)
    there = question.travel[BASE, wish.place_id] + question.travel[wish.place_id, BASE]
    if wish.minutes + there > most:
        return (
            f"It takes {describe_duration(wish.minutes)} and {there} min of travel; the longest day has room for"
            f" {describe_duration(most)}, and nobody who could go has enough free days with one instrument, one after"
            " the other. Choose more weeks, place it by hand, or send two people.",
        )
    spans = [(day, open_for) for worker, day, _ in working if (open_for := number_open(wish, worker, day)) is not None]
    if not spans:
        closed = sorted({f"{_say(day)} ({why})" for day, why in wish.closed.items() if day in question.days})
        why = f" Closed: {', '.join(closed[:4])}." if closed else ""
        if wish.earliest > question.days[-1]:
            why = f" It would be too early before {_say(wish.earliest)}."
        return (f"No day of these weeks is open for it.{why}",)
    if all(ends - begins < wish.minutes for _, (begins, ends) in spans):
        longest = max(ends - begins for _, (begins, ends) in spans)
        return (
            f"It takes {describe_duration(wish.minutes)}; access is at most {describe_duration(longest)} at a time, and"
            " nobody has enough free days with one instrument, one after the other.",
        )
    if not any(question.free_instruments.get(day) or question.holders.get(day) for day, _ in spans):
        return ("No instrument is free and in calibration on any day on which it could be done.",)
    return (
        f"The days on which it could be done have no room for {describe_duration(wish.minutes)} with the travel."
        " Choose more weeks, or fewer premises.",
    )


def _names(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _days(number: int) -> str:
    return f"{number} day{'' if number == 1 else 's'}"


def _say(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
