"""How long lists take at 20,000 items and 30,000 lines of the journal: beside the plainest answer of the same app."""

import tempfile
import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from random import Random
from statistics import median
from typing import Any

from sqlalchemy import insert, select

from app.actions import customers, equipment_types, people, premises
from app.actions.deeds import Desk
from app.main import create_app, new_desk
from app.rules.customers import CustomerDetails, PremisesDetails
from app.rules.equipment import Environment
from app.rules.items import EquipmentTypeDetails
from app.settings import Settings
from app.store.items import ItemRow
from app.store.journal import JournalRow
from app.store.migrate import upgrade
from app.store.people import find_sign_in
from app.web.kit import SESSION
from tests.cast import KETTLE, PASSWORD, Browse, World, make_world

ITEMS, LINES, TIMES = 20_000, 30_000, 9


def measure() -> Iterator[tuple[str, float]]:
    """What falls due, pictures, the register as a file, and the journal at its start and at its end."""
    with tempfile.TemporaryDirectory() as made:
        settings = Settings(data_folder=Path(made))
        desk = new_desk(settings)
        upgrade(desk.database.engine)
        world = make_world(desk)
        last = _fill(desk, world)
        with desk.doing(world.owner) as deed:
            token = people.sign_in(deed, "ines@tarn-alder.example", PASSWORD) or ""
            sign_in = find_sign_in(deed.session, people.hash_of(token), deed.now)
        browse = Browse(create_app(settings), {SESSION: token}, sign_in.csrf if sign_in else "")
        plain = _middle(browse, "/health")
        yield "the plainest answer", plain
        for what, path in (
            (f"what falls due in 3 months, {ITEMS:,} items", "/due"),
            ("what falls due in 12 months", "/due?months=12"),
            ("pictures of the firm", "/pictures"),
            ("customers", "/customers"),
            (f"the journal of {LINES:,} lines, first page", "/journal"),
            ("the journal, near its end", f"/journal?after={last}&from={LINES - 100}"),
        ):
            took = _middle(browse, path)
            yield f"{what}: {took / plain:.0f} times as long", took


def _fill(desk: Desk, world: World) -> int:
    """Items at 300 premises that fall due over a year and a half; gives the id of a line near the journal's end."""
    random = Random(7)
    with desk.doing(world.owner) as deed:
        types = [
            equipment_types.add_equipment_type(deed, EquipmentTypeDetails(f"Type {n}", KETTLE)).id for n in range(40)
        ]
        places = []
        for n in range(150):
            customer = customers.add_customer(deed, CustomerDetails(f"Customer {n}", "1 High Street", "ZZ1 1AA"))
            for side in ("east", "west"):
                told = PremisesDetails(f"Site {side}", "1 High Street", "ZZ1 1AA", Environment.OFFICE)
                site = premises.add_premises(deed, customer.id, told)
                places.append((customer.id, site.id, premises.add_location(deed, site.id, "Hall").id))
        deed.session.flush()
        like = _row(deed.session, ItemRow, world.item_ids[0])
        keys = ("customer_id", "premises_id", "location_id")
        rows = [
            {**like, **dict(zip(keys, places[n % len(places)], strict=True)), "id": 1000 + n, "number": f"{n:06}",
             "equipment_type_id": random.choice(types),
             "next_due_on": desk.today + timedelta(days=random.randrange(-60, 480))}
            for n in range(ITEMS)
        ]  # fmt: skip
        deed.session.execute(insert(ItemRow), rows)
        first = deed.session.scalars(select(JournalRow.id).order_by(JournalRow.id)).first() or 0
        line = _row(deed.session, JournalRow, first)
        deed.session.execute(insert(JournalRow), [{**line, "id": 10_000 + n} for n in range(LINES)])
        return 10_100


def _row(session: Any, kind: Any, row_id: int) -> dict[str, Any]:
    return dict(session.execute(select(kind.__table__).where(kind.id == row_id)).mappings().one())


def _middle(browse: Browse, path: str) -> float:
    took = []
    for _ in range(TIMES):
        began = time.perf_counter()
        assert browse.get(path).status_code == 200
        took.append(time.perf_counter() - began)
    return median(took)
