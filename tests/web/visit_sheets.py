"""What tests of the visit sheet share: a visit under way, and what is typed for the items of the cast."""

from app.actions import visits
from app.actions.deeds import Desk
from app.store.readings import get_visit_item
from tests.cast import Browse, World
from tests.web.page_text import fields_of

#: Within the limits of the kettle: 0.1 + 1.5 m of 0.75 mm² at 0.0260 Ω/m = 0.139 Ω (UK Code of Practice, 4th edition,
#: as quoted by training pages; IEC 60228, class 5), and at least 1 MΩ for Class I (the same Code).
GOOD_KETTLE = {
    "visual": "satisfactory",
    "protective-conductor-resistance": "0.11",
    "insulation-resistance": "> 20 MΩ",
    "functional": "satisfactory",
}
#: At least 2 MΩ for Class II (UK Code of Practice, 4th edition, as quoted by training pages).
GOOD_DRILL = {"visual": "satisfactory", "insulation-resistance": "99"}
#: 0.1 + 5 m of 1.25 mm² at 0.0156 Ω/m = 0.178 Ω (UK flex tables, from memory).
GOOD_LEAD = {
    "visual": "satisfactory",
    "protective-conductor-resistance": "0.12",
    "polarity": "satisfactory",
    "insulation-resistance": "99",
}


def begin(desk: Desk, world: World) -> World:
    """Start the visit of the world."""
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id)
    return world


def sheet_of(world: World, place: int = 0) -> str:
    """The address of an item on the visit of the world, by its place: kettle, drill, extension lead."""
    return f"/visits/{world.visit_id}/items/{world.item_ids[place]}"


def kept(desk: Desk, world: World, place: int = 0) -> tuple[str | None, dict[str, str]]:
    """What is kept for an item: its verdict, and the outcome of each check."""
    with desk.reading_only() as session:
        row = get_visit_item(session, world.visit_id, world.item_ids[place])
        return row.verdict, {reading.check: reading.outcome for reading in row.readings}


def version_on(browse: Browse, address: str) -> dict[str, str]:
    """The version of the row that a form opened now would send."""
    return {"version": fields_of(browse.get(address))["version"]}
