"""What waits on the demo's planner: a repeat agreement with its visits, and a visit without a day."""

from datetime import timedelta
from typing import Any

from app.actions.planners import want_visit
from app.actions.repeat_agreements import agree_repeat
from app.rules.repeats import Repeat
from app.store.premises import list_premises


def plan_in_demo(demo: Any) -> None:
    """Agree on yearly visits to one place, and put a visit to another into the pool."""
    with demo.desk.doing(demo.office) as deed:
        places = {row.name: row.id for row in list_premises(deed.session)}
        first = demo.today + timedelta(days=30)
        agree_repeat(
            deed, places["Day centre"], Repeat(first, 12, note="Before the lunch club, which begins at twelve")
        )
        want_visit(deed, places["Harbour Row"], note="New tenant on the second floor; ask for the list of equipment")
