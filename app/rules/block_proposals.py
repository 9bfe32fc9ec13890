"""Booking proposals for visits that no day is long enough for: whole working days of one person, one after the other.

Blocks are placed before all other visits, the most pressing first, each where it costs least at that moment, and are
taken as booked by what places the others; nothing moves them again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from app.rules.held_days import DAYS_MOST, HeldDay, list_held_days, number_share
from app.rules.inserted_proposals import Plan
from app.rules.proposals import (
    SETTING_OUT,
    Fixed,
    Question,
    Wish,
    Worker,
    number_day_cost,
    number_left_out,
    number_open,
)
from app.rules.travel import BASE, STEP

#: So that the parts of a block are told from booked visits.
_OURS = 10**9


@dataclass(frozen=True)
class Block:
    """A visit on several days of one person, with one instrument on all of them; travel: minutes, all days together."""

    wish: Wish
    worker: Worker
    instrument_id: int
    days: tuple[HeldDay, ...]
    travel: int


@dataclass(frozen=True)
class Room:
    """What a free day of somebody has room for: between which minutes, and for how many at most."""

    begins: int
    ends: int
    most: int


def number_room(question: Question, wish: Wish, worker: Worker, day: date) -> Room | None:
    """How much of a visit fits into a day of somebody who does nothing else on it; nothing where it cannot be done."""
    hours = None if day in worker.off else worker.week[day.weekday()]
    open_for = number_open(wish, worker, day)
    if hours is None or open_for is None:
        return None
    there, back = question.travel[BASE, wish.place_id], question.travel[wish.place_id, BASE]
    begins = max(-(-(hours[0] + there) // STEP) * STEP, open_for[0])
    most = (hours[1] - hours[0]) * (100 - question.free_percent) // 100 - there - back
    return Room(begins, min(hours[1] - back, open_for[1]), most)


def list_long_wishes(question: Question) -> tuple[Wish, ...]:
    """List the visits for which no day of anybody is long enough, the most pressing first, then the longest."""
    found = []
    for wish in question.wishes:
        rooms = (number_room(question, wish, worker, day) for worker in question.workers for day in question.days)
        sizes = [min(room.most, room.ends - room.begins) for room in rooms if room is not None]
        if sizes and max(sizes) < wish.minutes:
            found.append(wish)
    last = question.days[-1]
    return tuple(sorted(found, key=lambda wish: (-number_left_out(wish, last), wish.due_on, -wish.minutes)))


def suggest_blocks(question: Question) -> tuple[Question, tuple[Block, ...]]:
    """Suggest days for the visits that are longer than a day. The question comes back without those that found some,
    and with their days as booked.
    """
    blocks: list[Block] = []
    for wish in list_long_wishes(question):
        plan = Plan(question)
        found = [block for worker in question.workers for block in _list_blocks(question, plan, wish, worker)]
        if not found:
            continue
        block = min(found, key=lambda each: (_cost(question, each), each.days[0].day, each.worker.id))
        blocks.append(block)
        question = replace(
            question,
            wishes=tuple(each for each in question.wishes if each != wish),
            fixed=(*question.fixed, *_as_booked(block)),
        )
    return question, tuple(blocks)


def _list_blocks(question: Question, plan: Plan, wish: Wish, worker: Worker) -> list[Block]:
    """The shortest block from each day on that this person could begin on."""
    hours = {day: None if day in worker.off else worker.week[day.weekday()] for day in question.days}
    working = [day for day, span in hours.items() if span is not None]
    found = []
    for place, first in enumerate(working):
        rooms: list[Room] = []
        for day in working[place : place + DAYS_MOST]:
            room, route = number_room(question, wish, worker, day), plan.routes.get((worker.id, day))
            if room is None or route is None or route.parts:
                break
            rooms.append(room)
            begins, share = max(each.begins for each in rooms), number_share(wish.minutes, len(rooms))
            if len(rooms) > 1 and all(share <= min(each.most, each.ends - begins) for each in rooms):
                days = list_held_days(first, begins, wish.minutes, hours, len(rooms))
                travel = (question.travel[BASE, wish.place_id] + question.travel[wish.place_id, BASE]) * len(days)
                instrument_id = _instrument(question, worker, days)
                if instrument_id is not None and _within_weeks(plan, worker, days, travel // len(days)):
                    found.append(Block(wish, worker, instrument_id, days, travel))
                break
    return found


def _instrument(question: Question, worker: Worker, days: Sequence[HeldDay]) -> int | None:
    """An instrument that is fit and in nobody's hands on all of some days: the person's own, else the first."""
    free = set.intersection(*(set(question.free_instruments[each.day]) for each in days))
    return worker.instrument_id if worker.instrument_id in free else min(free, default=None)


def _within_weeks(plan: Plan, worker: Worker, days: Sequence[HeldDay], travel: int) -> bool:
    if worker.week_minutes_most is None:
        return True
    weeks: dict[date, int] = {}
    for each in days:
        monday = each.day - timedelta(days=each.day.weekday())
        weeks[monday] = weeks.get(monday, 0) + each.minutes + travel
    kept: Mapping[tuple[int, date], int] = plan.week_minutes
    return all(kept[worker.id, monday] + busy <= worker.week_minutes_most for monday, busy in weeks.items())


def _cost(question: Question, block: Block) -> int:
    days = [number_day_cost(block.wish, each.day, question.days[0]) for each in block.days]
    return sum(days) // len(days) + block.travel + SETTING_OUT * len(days)


def _as_booked(block: Block) -> tuple[Fixed, ...]:
    wish, worker = block.wish, block.worker
    return tuple(
        Fixed(
            -_OURS - wish.place_id, wish.place_id, wish.name, each.minutes, worker.id, block.instrument_id,
            each.day, each.start,
        )
        for each in block.days
    )  # fmt: skip
