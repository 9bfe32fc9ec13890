"""What puts a defect right: repair, replace or withdraw, and what a person adds to that in words; or what a technician
changes on the spot, which makes the item ready for a second set of readings.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from app.rules.equipment import ItemFacts

#: The largest fuse that BS 1362 knows for a plug, in A.
FUSE_MOST_A = 13


class Remedy(StrEnum):
    REPAIR = "repair"
    REPLACE = "replace"
    WITHDRAW = "withdraw"

    @property
    def word(self) -> str:
        return self.value

    @property
    def sentence(self) -> str:
        return {
            "repair": "Repair it, and have it tested again before it is used.",
            "replace": "Replace it. This one must not be used again.",
            "withdraw": "Withdraw it for good, and dispose of it so that nobody can use it.",
        }[self.value]


def describe_remedy(remedy: Remedy | None, more: str = "") -> str:
    """Write a remedy as it is kept with a defect: what to do, then what the technician added; "" for neither."""
    return " ".join(part for part in (remedy.sentence if remedy else "", more.strip()) if part)


def parse_remedy(text: str) -> tuple[Remedy | None, str]:
    """Take a kept remedy apart again: the choice, where it begins with one, and the rest."""
    for remedy in Remedy:
        if text.startswith(remedy.sentence):
            return remedy, text.removeprefix(remedy.sentence).strip()
    return None, text


class Change(StrEnum):
    """What a technician changes on the spot, so that the item can be tested again at the same visit."""

    FUSE = "fuse"
    PLUG = "plug"
    CORD = "cord"
    OTHER = "other"

    @property
    def word(self) -> str:
        """What was done, as a line of an invoice and a price for it name it."""
        return "Put right on the spot" if self is Change.OTHER else f"{self.value.capitalize()} changed"


def list_changes(facts: ItemFacts) -> list[Change]:
    """What can be changed on an item; without a cord of its own it has no plug and no cord to change."""
    return [change for change in Change if facts.cord is not None or change not in (Change.PLUG, Change.CORD)]


@dataclass(frozen=True)
class PutRight:
    """What put an item right on the spot. fuse_a in A, csa_mm2 in mm², length_m in m; words is for anything else."""

    change: Change
    fuse_a: Decimal | None = None
    csa_mm2: Decimal | None = None
    length_m: Decimal | None = None
    words: str = ""


def describe_put_right(done: PutRight) -> str:
    """Say what was done: "fuse changed to 3 A"; with what a person added."""
    if done.change is Change.OTHER:
        return done.words.strip()
    parts = [f"{done.change.value} changed"]
    if done.change is Change.CORD:
        size = [f"{done.csa_mm2.normalize():f} mm²" if done.csa_mm2 else ""]
        size.append(f"{done.length_m.normalize():f} m" if done.length_m else "")
        parts += [", ".join(part for part in size if part)]
    if done.fuse_a and done.change is not Change.CORD:
        parts += [
            f"{done.fuse_a.normalize():f} A fuse" if done.change is Change.PLUG else f"{done.fuse_a.normalize():f} A"
        ]
    said = (" with a " if done.change is Change.PLUG else " to ").join(part for part in parts if part)
    return "; ".join(part for part in (said, done.words.strip()) if part)


def check_put_right(done: PutRight, facts: ItemFacts) -> dict[str, str]:
    """Say by field what is missing or cannot be."""
    mistakes: dict[str, str] = {}
    if done.change in (Change.PLUG, Change.CORD) and facts.cord is None:
        mistakes["change"] = "This item has no cord. Put that right in its facts first."
    if done.change is Change.FUSE and done.fuse_a is None:
        mistakes["new_fuse_a"] = "Say which fuse it has now, in A."
    if done.fuse_a is not None and not 0 < done.fuse_a <= FUSE_MOST_A:
        mistakes["new_fuse_a"] = f"A fuse in a plug is rated at most {FUSE_MOST_A} A."
    if done.change is Change.CORD and done.csa_mm2 is None:
        mistakes["new_csa_mm2"] = "Say how thick the conductors of the new cord are, in mm²."
    if done.change is Change.CORD and done.length_m is None:
        mistakes["new_length_m"] = "Say how long the new cord is, in m."
    if done.change is Change.OTHER and not done.words.strip():
        mistakes["put_right_words"] = "Say in a few words what was done."
    return mistakes


def next_facts(facts: ItemFacts, done: PutRight) -> ItemFacts:
    """Give the facts of an item after something was changed on it."""
    cord = facts.cord
    if done.change in (Change.FUSE, Change.PLUG) and done.fuse_a is not None:
        facts = replace(facts, fuse_a=done.fuse_a)
    if done.change is Change.PLUG and cord is not None:
        facts = replace(facts, cord=replace(cord, moulded_plug=False))
    if done.change is Change.CORD and cord is not None:
        facts = replace(facts, cord=replace(cord, csa_mm2=done.csa_mm2, length_m=done.length_m))
    return facts
