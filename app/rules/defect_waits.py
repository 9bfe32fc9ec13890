"""Who must act next on an open defect, by when, and how it stands. Only a pass at a later test closes one; nobody's
word does.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from app.rules.items import ItemState

NOTE_MOST = 300


class Duty(StrEnum):
    """Whom somebody has made responsible for a remedy; empty where the rules say who acts."""

    RULES = ""
    CUSTOMER = "customer"
    FIRM = "firm"
    PERSON = "person"


class DefectState(StrEnum):
    """How an open defect stands."""

    WAITING = "waiting"
    OVERDUE = "past its date"
    SAID_DONE = "said to be put right"


@dataclass(frozen=True)
class Wait:
    """waits_for: "customer" or "firm"."""

    waits_for: str
    sentence: str


def describe_wait(
    item_state: str, retest_on: date | None, today: date, duty: str = "", said_done_on: date | None = None
) -> Wait:
    """Say who must act on a defect of an item, given the day of the next visit booked to its premises.

    duty: a word of Duty; said_done_on: the day on which the customer said that it is put right.
    """
    if item_state == ItemState.IN_USE:
        return Wait("firm", "The item is in use although the defect is open: take it out of use, or test it again.")
    if retest_on is not None:
        when = "today" if retest_on == today else f"on {retest_on.day} {retest_on:%b %Y}"
        late = " The visit was not finished." if retest_on < today else ""
        done = "" if said_done_on is not None else ", if it has been put right by then"
        return Wait("firm", f"Test it again at the visit {when}{done}.{late}")
    if said_done_on is not None:
        said = f"{said_done_on.day} {said_done_on:%b %Y}"
        return Wait("firm", f"The customer said on {said} that it is put right. Book a visit to test it again.")
    if duty in (Duty.FIRM, Duty.PERSON):
        return Wait("firm", "Put it right, or have it withdrawn. Then a visit tests it again.")
    return Wait("customer", "Have it put right and say so, or have it withdrawn. Then a visit tests it again.")


def describe_duty(item_state: str, retest_on: date | None, today: date, firm: str) -> tuple[tuple[str, str], ...]:
    """Say on paper who must do what about a defect of an item: (who, what). Arguments as of describe_wait."""
    if item_state == ItemState.IN_USE:
        return (("Dutyholder", "take it out of use now, although it is in use."), (firm, "test it again."))
    keep = "keep it out of use, and have it put right by a competent person or withdrawn."
    if retest_on is None or retest_on < today:
        return (("Dutyholder", keep), (firm, "test it again when it has been put right."))
    return (("Dutyholder", keep), (firm, f"test it again at the visit on {retest_on.day} {retest_on:%b %Y}."))


def judge_defect(act_by: date | None, said_done_on: date | None, today: date) -> DefectState:
    """Say how an open defect stands: said to be put right before past its date, for the firm acts on the former."""
    if said_done_on is not None:
        return DefectState.SAID_DONE
    return DefectState.OVERDUE if act_by is not None and act_by < today else DefectState.WAITING


def check_act_by(act_by: date | None, today: date) -> str | None:
    """Say what is wrong with a day to act by, or nothing."""
    if act_by is not None and act_by < today:
        return "Choose today or a later day."
    return None
