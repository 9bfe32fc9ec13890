"""The rulebooks, each a named edition of all limits, by id."""

from app.rules.rulebooks import en_50699, uk_2012, uk_2020
from app.rules.rulebooks.figures import Figure, HouseLimit, Rulebook, Setting, Status

RULEBOOKS: dict[str, Rulebook] = {book.id: book for book in (uk_2012.RULEBOOK, uk_2020.RULEBOOK, en_50699.RULEBOOK)}


def rulebook_named(rulebook_id: str) -> Rulebook:
    """Give the rulebook with this id ("uk-2012"). Raises KeyError where there is none."""
    return RULEBOOKS[rulebook_id]


__all__ = ["RULEBOOKS", "Figure", "HouseLimit", "Rulebook", "Setting", "Status", "rulebook_named"]
