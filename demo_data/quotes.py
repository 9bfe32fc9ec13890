"""The demo's quotes: one that was accepted and booked, and one for many items that waits for its answer."""

from datetime import timedelta
from typing import Any

from app.actions.prices import agree_prices
from app.actions.quotes import answer_quote, draft_quote, issue_quote
from app.rules.equipment import Kind
from app.rules.price_details import MorePrices, NamedExtra, Step
from app.rules.quotes import ANY_KIND, Answer
from app.store.premises import get_premises

EXTRAS = (
    NamedExtra("Fuse changed", 150),
    NamedExtra("Plug changed", 450),
    NamedExtra("Cord changed", 950),
    NamedExtra("Repair", 3800, "hour"),
)
TIERS = (Step(95, 101), Step(80, 201))


def quote_demo(demo: Any, brewhouse_id: int, offices_id: int) -> int:
    """Quote for both premises; gives the id of the quote that was accepted."""
    demo.go_to(demo.today - timedelta(days=15), 10)
    with demo.desk.doing(demo.office) as deed:
        note = "Two mornings in a row: the brew floor and the cold store while they are washed down, then the rest."
        accepted = draft_quote(deed, brewhouse_id, note=note).id
    issue_quote(demo.desk, demo.office, accepted)
    demo.go_to(demo.today - timedelta(days=11), 15)
    with demo.desk.doing(demo.office) as deed:
        answer_quote(deed, accepted, Answer.ACCEPTED, deed.today, "Ada Lomas, by telephone")
    demo.go_to(demo.today - timedelta(days=3), 14)
    with demo.desk.doing(demo.office) as deed:
        more = MorePrices(steps=TIERS, extras=EXTRAS, discount="5%", discount_reason="Whole building at one visit")
        customer_id = get_premises(deed.session, offices_id).customer_id
        agree_prices(deed, customer_id, deed.today, 110, 0, 9500, {Kind.DETACHABLE_CORD: 50}, more)
        tiered = draft_quote(deed, offices_id, {ANY_KIND: 240, Kind.DETACHABLE_CORD.value: 60}, 60).id
    issue_quote(demo.desk, demo.office, tiered)
    return accepted
