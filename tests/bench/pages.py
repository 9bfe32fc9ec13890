"""How long the pages of the day take in process, as the middle of fifty: beside the plainest answer of the same app."""

import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

from app.actions import items, people, visits
from app.actions.deeds import Desk
from app.main import create_app
from app.rules.items import ItemDetails
from app.settings import Settings
from app.store.database import Database
from app.store.migrate import upgrade
from app.store.people import find_sign_in
from app.web.kit import SESSION
from tests.cast import KETTLE, LONDON, PASSWORD, Browse, make_world

TIMES = 50
ITEMS = 400


def measure() -> Iterator[tuple[str, float]]:
    """Ask for each page fifty times, at a premises with 400 items."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        settings = Settings(data_folder=folder)
        database = Database(settings.database_url)
        upgrade(database.engine)
        desk = Desk(database, folder / "papers", "http://127.0.0.1", LONDON, lambda: datetime.now(UTC))
        world = make_world(desk)
        with desk.doing(world.technician) as deed:
            for _ in range(ITEMS - 3):
                items.add_item(deed, ItemDetails("", "Kettle", world.location_id, facts=KETTLE))
            visits.start_visit(deed, world.visit_id)
            token = people.sign_in(deed, "joss@tarn-alder.example", PASSWORD) or ""
            sign_in = find_sign_in(deed.session, people.hash_of(token), deed.now)
        browse = Browse(create_app(settings), {SESSION: token}, sign_in.csrf if sign_in else "")
        item = f"/visits/{world.visit_id}/items/{world.item_ids[0]}"
        plain = _middle(lambda: browse.get("/health"))
        yield "the plainest answer", plain
        for what, path in (
            ("home", "/"),
            (f"register of {ITEMS} items", f"/premises/{world.premises_id}"),
            (f"visit sheet of {ITEMS} items", f"/visits/{world.visit_id}/sheet"),
            ("item on the sheet", item),
            ("verdict as it is typed", f"{item}/parts/verdict?protective-conductor-resistance=0.21"),
        ):
            took = _middle(lambda path=path: browse.get(path))  # type: ignore[misc]
            yield f"{what}: {took / plain:.1f} times as long", took


def _middle(work: Callable[[], object]) -> float:
    took = []
    for _ in range(TIMES):
        began = time.perf_counter()
        work()
        took.append(time.perf_counter() - began)
    return median(took)
