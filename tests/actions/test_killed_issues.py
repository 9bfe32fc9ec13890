"""Issuing survives kill -9 at any moment: after the next start every number has its whole paper, and the reverse."""

import random
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from functools import partial
from itertools import count

from app.actions import certificates, papers
from app.actions.deeds import Desk
from tests.cast import World
from tests.killed_issues import (
    check_papers_settled,
    check_series,
    finished_visits,
    issue_with_kills,
    kill_after,
    start_issuing,
)

VISITS = 8


def test_kills_at_random_moments_part_no_number_from_its_paper(desk: Desk, database_url: str, world: World) -> None:
    first, *visit_ids = finished_visits(desk, world, VISITS)
    began = time.monotonic()
    certificates.issue_certificate(desk, world.office, first)
    once = time.monotonic() - began  # so that the kills fall into the work, on a slow computer as on a quick one
    desk.database.close()
    kills = issue_with_kills(desk, database_url, world, visit_ids, processes=2, longest=once * 2, seed=9)
    assert kills > 1
    assert check_series(desk) == {first, *visit_ids}


def endless_papers(world: World) -> Iterator[Callable[[Desk], object]]:
    """Issues registers, lists and histories for ever, each of another day or item, so that no two are alike."""
    who, customer_id = world.office, world.customer_id

    def each(place: int, desk: Desk) -> None:
        day = desk.today - timedelta(days=place)
        papers.issue_register(desk, who, customer_id, as_at=day)
        papers.issue_defect_list(desk, who, customer_id, world.premises_id, day)
        papers.issue_item_history(desk, who, world.item_ids[place % 3])

    return (partial(each, place) for place in count(1))


def test_no_kill_parts_a_register_or_history_from_its_number(desk: Desk, database_url: str, world: World) -> None:
    began = time.monotonic()
    papers.issue_register(desk, world.office, world.customer_id)
    once = time.monotonic() - began
    chance, kills, numbers = random.Random(7), 0, check_papers_settled(desk)
    while kills < 4 or (len(numbers) <= 3 and kills < 40):  # a busy computer issues little between two kills
        desk.database.close()
        children = [start_issuing(database_url, desk.papers_folder, desk.now, endless_papers(world)) for _ in range(2)]
        kill_after(children, chance.uniform(once / 2, once * 3))
        kills += 1
        papers.finish_pending_papers(desk)
        numbers = check_papers_settled(desk)
    assert len(numbers) > 3, "nothing was issued before the kills"
