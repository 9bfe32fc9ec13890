"""Inside a room a noun leans only on nouns that the business makes before it; nothing leans in a circle."""

from graphlib import TopologicalSorter

import pytest

from tests.house.tree import APP, ROOMS, list_imports, list_modules

ORDER = (
    "people firms customers premises equipment_types items instruments prices visits readings photos certificates"
    " quotes invoices share_links overviews"
).split()


def leanings(room: str) -> dict[str, set[str]]:
    """For each module of a room (a package counts as one): the modules of the same room that it imports."""
    found: dict[str, set[str]] = {}
    for path in list_modules(room):
        own = path.relative_to(APP / room).with_suffix("").parts[0]
        edges = found.setdefault(own, set())
        for source, name in list_imports(path):
            if source.startswith(f"app.{room}."):
                edges.add(source.split(".")[2])
            elif source == f"app.{room}":
                edges.add(name)
        edges.discard(own)
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_a_noun_leans_only_on_earlier_nouns(room: str) -> None:
    for noun, others in leanings(room).items():
        for other in others & set(ORDER):
            if noun in ORDER:
                assert ORDER.index(other) < ORDER.index(noun), f"{room}/{noun} leans on the later {other}"


@pytest.mark.parametrize("room", ROOMS)
def test_no_circle(room: str) -> None:
    TopologicalSorter(leanings(room)).prepare()  # raises CycleError and names the circle
