"""The firm's own evidence for an interval as pages show it: spans and views to choose from, and how it is counted."""

from app.rules.interval_decisions import Doubted
from app.rules.verdicts import Mistakes

YEARS = (1, 2, 3, 5, 10)
VIEWS = {"exact": "Exact 95 % bounds", "two-percent": "German 2 % rule"}
COUNTING = (
    "Tests of the same item are not independent of each other, so an item counts once: as failed where it failed at "
    "any test of the time. Tests after a repair are left out. The 2 % that this is held against is the German rule's "
    "mark for one round of tests; over more years an item has more chances to fail, which is on the careful side."
)


def show_doubts(wrong: Mistakes) -> tuple[str, ...]:
    """What speaks against a decision that came back."""
    return wrong.doubts if isinstance(wrong, Doubted) else ()
