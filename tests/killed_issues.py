"""Issues papers in processes that are killed at any moment, and says whether numbers and papers still agree."""

import hashlib
import os
import random
import signal
import time
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path

from sqlalchemy import select

from app.actions import certificates, readings, visits
from app.actions.deeds import Desk
from app.rules.firms import PAPER_PREFIXES
from app.rules.verdicts import Refused
from app.rules.visits import Booking, NotTested
from app.store.certificates import list_certificates
from app.store.database import Database
from app.store.papers import PaperRow
from app.store.readings import list_visit_items
from tests.cast import LONDON, World


def finished_visits(desk: Desk, world: World, count: int) -> list[int]:
    """So many finished visits at one premises, at each of which nothing was found: short papers."""
    made = []
    for _ in range(count):
        with desk.doing(world.owner) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, desk.today)
            visit_id = visits.book_visit(deed, booking).id
            visits.start_visit(deed, visit_id)
            for row in list_visit_items(deed.session, visit_id):
                readings.leave_item(deed, visit_id, row.item_id, NotTested.NOT_FOUND)
            visits.finish_visit(deed, visit_id)
        made.append(visit_id)
    return made


def start_issuing(url: str, papers_folder: Path, now: datetime, issues: Iterable[Callable[[Desk], object]]) -> int:
    """Issue in a process of its own, and give its number. It shares no connection with this one."""
    child = os.fork()
    if child:
        return child
    try:
        desk = Desk(Database(url), papers_folder, "https://office.tarn-alder.example", LONDON, lambda: now)
        for issue in issues:
            try:
                issue(desk)
            except Refused:
                continue  # another process was first
    finally:
        os._exit(0)


def certificate_of(world: World, visit_id: int) -> Callable[[Desk], object]:
    """Issues the certificate of a visit."""
    return lambda desk: certificates.issue_certificate(desk, world.office, visit_id)


def kill_after(children: Sequence[int], seconds: float) -> None:
    """Let processes work so long, then kill them as a power cut would."""
    until = time.monotonic() + seconds
    living = set(children)
    while living and time.monotonic() < until:
        living -= {child for child in living if os.waitpid(child, os.WNOHANG)[0]}
        time.sleep(0.002)
    for child in living:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def issue_with_kills(
    desk: Desk, url: str, world: World, visit_ids: Sequence[int], *, processes: int, longest: float, seed: int
) -> int:
    """Issue every visit's certificate through kill after kill, each followed by what a start does. Gives the kills."""
    chance, kills, waiting = random.Random(seed), 0, list(visit_ids)
    while waiting:
        orders = [chance.sample(waiting, len(waiting)) for _ in range(processes)]
        children = [
            start_issuing(url, desk.papers_folder, desk.now, [certificate_of(world, each) for each in order])
            for order in orders
        ]
        kill_after(children, chance.uniform(0, longest))
        kills += 1
        certificates.finish_pending_certificates(desk)
        waiting = sorted(set(waiting) - check_series(desk))
    return kills


def check_series(desk: Desk) -> set[int]:
    """Assert that numbers run from 1 without a gap and each has its whole paper, and no paper has none."""
    with desk.reading_only() as session:
        rows = list_certificates(session, limit=100_000)
        assert sorted(row.number for row in rows) == [f"C-{place:06d}" for place in range(1, len(rows) + 1)]
        assert {row.state for row in rows} <= {"issued"}
        for row in rows:
            content = (desk.papers_folder / row.file_name).read_bytes()
            assert hashlib.sha256(content).hexdigest() == row.sha256, row.number
        assert {file.name for file in desk.papers_folder.glob("*.pdf")} == {row.file_name for row in rows}
        issued = [row.visit_id for row in rows]
        assert len(issued) == len(set(issued)), "a visit was certified twice"
        return set(issued)


def check_papers_settled(desk: Desk) -> list[str]:
    """Assert that registers and the like have no gap in a series and a whole paper a number; gives the numbers."""
    with desk.reading_only() as session:
        rows = list(session.scalars(select(PaperRow)))
        numbers = sorted(row.number for row in rows)
        for kind in {row.kind for row in rows}:
            prefix, found = PAPER_PREFIXES[kind], sorted(row.number for row in rows if row.kind == kind)
            assert found == [f"{prefix}-{place:06d}" for place in range(1, len(found) + 1)]
        for row in rows:
            assert row.state == "issued"
            assert hashlib.sha256((desk.papers_folder / row.file_name).read_bytes()).hexdigest() == row.sha256
        assert {file.name for file in desk.papers_folder.glob("*.pdf")} == {row.file_name for row in rows}
        return numbers
