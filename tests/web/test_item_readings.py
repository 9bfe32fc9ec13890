"""An item's readings drawn against their limits, in words, in a picture and in a table."""

import re
from decimal import Decimal

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.readings import record_item
from app.rules.checks import Check
from app.rules.quantities import Bound, Reading, Unit
from app.rules.readings import Entry
from app.rules.verdicts import Outcome
from app.rules.visits import Booking
from tests.cast import BrowseAs, Clock, World
from tests.web.page_text import words_of


def test_a_creeping_earth_is_drawn_and_warned_of(browse_as: BrowseAs, world: World, desk: Desk, clock: Clock) -> None:
    # Five visits a half-year apart: 0.04 to 0.12 Ω against 0.139 Ω (0.1 + 1.5 m of 0.75 mm², IEC 60228):
    # 0.04 Ω a year, so the line meets the limit half a year on, before the next visit in a year.
    for place, ohms in enumerate(("0.04", "0.06", "0.08", "0.10", "0.12")):
        if place:
            clock.pass_time(days=182)
        with desk.doing(world.owner) as deed:
            booking = Booking(world.premises_id, world.technician.id, world.instrument_id, clock.today)
            visit_id = visits.book_visit(deed, booking).id
            visits.start_visit(deed, visit_id, "The laboratory is late")
            entries = [
                Entry(Check.VISUAL, outcome=Outcome.PASS),
                Entry(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, Reading(Decimal(ohms), Unit.OHM)),
                Entry(Check.INSULATION_RESISTANCE, Reading(Decimal(200), Unit.MEGOHM, Bound.ABOVE)),
            ]
            record_item(deed, visit_id, world.item_ids[0], entries)
    page = browse_as(world.technician).get(f"/items/{world.item_ids[0]}/readings")
    text, words = page.text, words_of(page)
    assert "+0.04\u00a0Ω a year (95\u00a0%: +0.04 to +0.04)" in text and "before the next visit" in text
    assert re.search("reaches the limit about [A-Z][a-z]+\u00a0[0-9]{4},", text), "no month is parted from its year"
    # Each of two charts is drawn for a wide place and for a telephone, with five readings each time.
    assert text.count("<circle") == 20 and text.count('class="chart-arrow"') == 10
    assert "> 200 MΩ" in words and "at most 0.139 Ω" in words


def test_an_item_without_readings_says_so(browse_as: BrowseAs, world: World) -> None:
    assert "No readings yet" in browse_as(world.owner).get(f"/items/{world.item_ids[1]}/readings").text
    assert browse_as(world.owner).get("/items/999/readings").status_code == 404
