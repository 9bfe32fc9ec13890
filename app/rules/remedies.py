"""What puts a defect right: repair, replace or withdraw, and what a person adds to that in words."""

from enum import StrEnum


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
