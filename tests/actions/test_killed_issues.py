"""Issuing survives kill -9 at any moment: after the next start every number has its whole paper, and the reverse."""

import time

from app.actions import certificates
from app.actions.deeds import Desk
from tests.cast import World
from tests.killed_issues import check_series, finished_visits, issue_with_kills

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
