"""How long the search box takes to answer at 200,000 items, as the middle of twenty: beside the plainest answer."""

import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random
from statistics import median

from sqlalchemy import insert, select

from app.actions import people
from app.main import create_app, new_desk
from app.settings import Settings
from app.store.items import ItemRow
from app.store.migrate import upgrade
from app.store.people import find_sign_in
from app.store.searches import change_whole_index
from app.web.kit import SESSION
from tests.cast import PASSWORD, Browse, make_world
from tests.postgres import find_programs, running_cluster

ITEMS, TIMES = 200_000, 20
THINGS = ("Kettle", "Toaster", "Drill", "Desk lamp", "Monitor", "Extension lead, 10 m", "Printer", "Fan heater")
MAKES = ("Hobbin", "Corrie", "Larkfell", "Stonechat", "Kelder", "Fenwick", "Marram", "Harrow Fell")


def measure() -> Iterator[tuple[str, float]]:
    """Type the beginnings of rare and of common words, and a number, on SQLite and, where there is one, PostgreSQL."""
    yield from _measure("SQLite", "")
    if programs := find_programs():
        with running_cluster(programs) as cluster:
            yield from _measure("PostgreSQL", cluster.url(cluster.add_database()))


def _measure(kind: str, url: str) -> Iterator[tuple[str, float]]:
    with tempfile.TemporaryDirectory() as made:
        settings = Settings(data_folder=Path(made), database=url)
        desk = new_desk(settings)
        upgrade(desk.database.engine)
        world = make_world(desk)
        random = Random(7)
        with desk.doing(world.office) as deed:
            like = (
                deed.session.execute(select(ItemRow.__table__).where(ItemRow.id == world.item_ids[0])).mappings().one()
            )
            deed.session.execute(
                insert(ItemRow),
                [
                    {**like, "id": 1000 + place, "number": f"{place:06}", "description": random.choice(THINGS),
                     "make": random.choice(MAKES), "serial": f"{random.choice('ABCDEFGH')}{random.randrange(10**8):08}"}
                    for place in range(ITEMS)
                ],
            )  # fmt: skip
        began = time.perf_counter()
        with desk.doing(world.office) as deed:
            change_whole_index(deed.session)
        yield f"{kind}: making the index of {ITEMS:,} items anew", time.perf_counter() - began
        with desk.doing(world.office) as deed:
            token = people.sign_in(deed, "bea@tarn-alder.example", PASSWORD) or ""
            sign_in = find_sign_in(deed.session, people.hash_of(token), deed.now)
        browse = Browse(create_app(settings), {SESSION: token}, sign_in.csrf if sign_in else "")
        plain = _middle(browse, "/health")
        yield f"{kind}: the plainest answer", plain
        for typed in ("k", "ket", "kettle hob", "a12", "012345", "brack", "xyzzy"):
            took = _middle(browse, f"/find/parts/results?q={typed}")
            yield f"{kind}: typed “{typed}”: {took / plain:.0f} times as long", took


def _middle(browse: Browse, path: str) -> float:
    took = []
    for _ in range(TIMES):
        began = time.perf_counter()
        assert browse.get(path).status_code == 200
        took.append(time.perf_counter() - began)
    return median(took)
