"""Who must act next on an open defect. Only a pass at a later test closes one; nobody's word does."""

from dataclasses import dataclass
from datetime import date

from app.rules.items import ItemState


@dataclass(frozen=True)
class Wait:
    """waits_for: "customer" or "firm"."""

    waits_for: str
    sentence: str


def describe_wait(item_state: str, retest_on: date | None, today: date) -> Wait:
    """Say who must act on a defect of an item, given the day of the next visit booked to its premises."""
    if item_state == ItemState.IN_USE:
        return Wait("firm", "The item is in use although the defect is open: take it out of use, or test it again.")
    if retest_on is not None:
        when = "today" if retest_on == today else f"on {retest_on.day} {retest_on:%b %Y}"
        late = " The visit was not finished." if retest_on < today else ""
        return Wait("firm", f"Test it again at the visit {when}, if it has been put right by then.{late}")
    return Wait("customer", "Have it put right and say so, or have it withdrawn. Then a visit tests it again.")


def describe_duty(item_state: str, retest_on: date | None, today: date, firm: str) -> tuple[tuple[str, str], ...]:
    """Say on paper who must do what about a defect of an item: (who, what). Arguments as of describe_wait."""
    if item_state == ItemState.IN_USE:
        return (("Dutyholder", "take it out of use now, although it is in use."), (firm, "test it again."))
    keep = "keep it out of use, and have it put right by a competent person or withdrawn."
    if retest_on is None or retest_on < today:
        return (("Dutyholder", keep), (firm, "test it again when it has been put right."))
    return (("Dutyholder", keep), (firm, f"test it again at the visit on {retest_on.day} {retest_on:%b %Y}."))
