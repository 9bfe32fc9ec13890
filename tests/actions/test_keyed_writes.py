"""A write with a key is done once: repeats, two copies at the same moment, and what is undone gives its key back."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest

from app.actions.deeds import Desk
from app.actions.items import add_item
from app.actions.keyed_writes import KEPT, KeyTaken, keep_answer, take_key
from app.rules.items import ItemDetails
from app.rules.verdicts import Refused
from app.store.items import list_items
from app.store.keyed_writes import find_keyed_write
from tests.cast import Clock, World

KEY = "5f0f7a52-7f83-4a0f-9a55-0d3f0c5a9b11"


def add_under(desk: Desk, world: World, key: str, number: str) -> str:
    """Add an item under a key, or give what was answered to the key before."""
    try:
        with desk.doing(world.technician) as deed:
            row = take_key(deed, key, "hash")
            item = add_item(deed, ItemDetails(number, "Heater", world.location_id))
            keep_answer(deed, row, {"to": f"/items/{item.id}"})
            return f"/items/{item.id}"
    except KeyTaken as taken:
        with desk.reading_only() as session:
            kept = find_keyed_write(session, taken.key)
            assert kept is not None
            return str(kept.answer["to"])


def count_items(desk: Desk, world: World) -> int:
    with desk.reading_only() as session:
        return len(list_items(session, world.premises_id))


def test_a_repeat_gets_the_first_answer_and_does_nothing(desk: Desk, world: World) -> None:
    before = count_items(desk, world)
    first = add_under(desk, world, KEY, "")
    assert add_under(desk, world, KEY, "") == first
    assert count_items(desk, world) == before + 1


def test_copies_that_arrive_at_the_same_moment_are_done_once(desk: Desk, world: World) -> None:
    before, copies = count_items(desk, world), 6
    ready = Barrier(copies)

    def send(_: int) -> str:
        ready.wait()
        return add_under(desk, world, KEY, "")

    with ThreadPoolExecutor(copies) as pool:
        answers = set(pool.map(send, range(copies)))
    assert len(answers) == 1
    assert count_items(desk, world) == before + 1


def test_what_is_undone_leaves_no_key_behind(desk: Desk, world: World) -> None:
    with pytest.raises(Refused), desk.doing(world.technician) as deed:
        take_key(deed, KEY, "hash")
        raise Refused("No.")
    with desk.reading_only() as session:
        assert find_keyed_write(session, KEY) is None


def test_keys_are_forgotten_when_no_tablet_can_still_be_away(desk: Desk, world: World, clock: Clock) -> None:
    add_under(desk, world, KEY, "")
    clock.now += KEPT - timedelta(days=1)
    add_under(desk, world, KEY.replace("5f", "60"), "")
    with desk.reading_only() as session:
        assert find_keyed_write(session, KEY) is not None
    clock.now += timedelta(days=2)
    add_under(desk, world, KEY.replace("5f", "61"), "")
    with desk.reading_only() as session:
        assert find_keyed_write(session, KEY) is None
